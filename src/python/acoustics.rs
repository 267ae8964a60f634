//! Air, pressure, levels and evenness at the Python face.

use super::arrays::{Array, table};
use super::balloon::Balloon;
use super::model::{Air, Hang, Venue};
use super::pose::placed;
use crate::acoustics::bands::Weighting;
use crate::acoustics::cutting::FAR_FIELD_TOLERANCE;
use crate::acoustics::field::Registers;
use crate::acoustics::{
    Field, Lines, Placed, Receivers, Rig, Room, Signal, air, bands, drive, field, measures, rooms,
    spectral, summary, unevenness,
};
use crate::error::{LARGEST, Result};
use crate::model::Seat;
use crate::pose::Hanging;
use crate::threads;
use nalgebra::Complex;
use numpy::{PyArray2, PyArrayMethods, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use std::sync::Arc;

#[pyfunction]
fn air_absorption_db_per_m(frequency_hz: PyReadonlyArray1<'_, f64>, air: &Air) -> PyResult<Array> {
    let frequency_hz = frequency_hz.as_slice()?;
    Lines::of_frequencies(frequency_hz, &air.0)?;
    let values = frequency_hz.iter();
    let values = values.map(|&f| air::absorption_db_per_m(&air.0, f));
    Ok(values.collect::<Vec<f64>>().into())
}

#[pyfunction]
fn sound_speed_m_s(air: &Air) -> f64 {
    air::sound_speed_m_s(&air.0)
}

/// A hang in the room as the face hands it over.
#[derive(FromPyObject)]
struct PlacedFields<'py> {
    hang: Bound<'py, Hang>,
    tilt_deg: f64,
    top_m: f64,
    position_m: (f64, f64),
    pan_deg: f64,
    delay_s: f64,
    gain_db: f64,
    drive: Vec<Vec<Complex<f64>>>,
    balloon: Vec<Option<Bound<'py, Balloon>>>,
}

impl PlacedFields<'_> {
    fn placed(&self) -> Placed<'_> {
        let balloons = self.balloon.iter();
        Placed {
            hanging: Hanging::at(&self.hang.get().0, self.tilt_deg)
                .top(self.top_m)
                .placed(placed(self.position_m, self.pan_deg)),
            signal: Signal {
                delay_s: self.delay_s,
                gain_db: self.gain_db,
                drive: self.drive.clone(),
            },
            balloons: balloons
                .map(|balloon| balloon.as_ref().map(|balloon| Arc::clone(&balloon.get().0)))
                .collect(),
        }
    }
}

/// Several hangs and the floor as the face hands them over.
#[derive(FromPyObject)]
struct RigFields<'py> {
    hangs: Vec<PlacedFields<'py>>,
    floor_reflection: f64,
    far_field_tolerance: f64,
}

impl RigFields<'_> {
    fn rig(&self) -> Result<Rig<'_>> {
        let placed = self.hangs.iter().map(PlacedFields::placed).collect();
        Rig::new(placed, self.floor_reflection, self.far_field_tolerance)
    }
}

/// Refuses a field, with so many further numbers per receiver, that does not fit into memory.
fn check_memory(receivers: &Receivers, lines: &Lines, more: usize) -> Result<()> {
    let [points, lines] = [receivers.len(), lines.len()];
    let asked = format!("{points} receivers at {lines} frequencies");
    let bytes = 8.0 * points as f64 * (2 * lines + more) as f64;
    crate::memory::fits("receivers_m", &asked, bytes)
}

fn check_signals() -> PyResult<()> {
    Python::attach(|py| py.check_signals())
}

fn points(receivers_m: &PyReadonlyArray2<'_, f64>) -> PyResult<Receivers> {
    let points = receivers_m.as_slice()?.chunks_exact(3);
    Ok(Receivers::of_points(
        points.map(|point| [point[0], point[1], point[2]]),
    ))
}

#[pyfunction]
#[allow(clippy::too_many_arguments, reason = "one per field of the face")]
#[pyo3(signature = (rig, receivers_m, frequency_hz, air, registers, venue=None))]
fn pressure<'py>(
    py: Python<'py>,
    rig: RigFields<'py>,
    receivers_m: PyReadonlyArray2<'py, f64>,
    frequency_hz: PyReadonlyArray1<'py, f64>,
    air: &Air,
    registers: &str,
    venue: Option<&Venue>,
) -> PyResult<Bound<'py, PyArray2<Complex<f64>>>> {
    threads::wake_another();
    let registers = Registers::named(registers)?;
    let receivers = points(&receivers_m)?;
    let lines = Lines::of_frequencies(frequency_hz.as_slice()?, &air.0)?;
    let rig = rig.rig()?;
    check_memory(&receivers, &lines, 0)?;
    let room = venue.map(|venue| Room::of(&venue.0));
    let sources = py.detach(|| rig.sources(&receivers, &lines, room.as_ref()))?;
    let out = PyArray2::zeros(py, [lines.len(), receivers.len()], false);
    {
        let mut writing = out.try_readwrite()?;
        let values = writing.as_slice_mut()?;
        py.detach(|| {
            field::write_pressure(
                registers,
                &sources,
                &receivers,
                &lines,
                values,
                check_signals,
            )
        })?;
    }
    Ok(out)
}

/// Levels at receivers: band by band, over all bands, and when driven as loud as stated limits let.
#[derive(IntoPyObject)]
struct LevelsFields {
    band_hz: Array,
    band_level_db: Array,
    greatest_level_db: Option<Array>,
    level_db: Array,
}

fn levels(
    py: Python<'_>,
    rig: &Rig<'_>,
    receivers: &Receivers,
    lines: &Lines,
    room: Option<&Room>,
) -> PyResult<(LevelsFields, Vec<f64>)> {
    // Twice the bands: as the core makes them, and as NumPy's.
    check_memory(receivers, lines, 2 * lines.bands().len())?;
    let sources = py.detach(|| rig.sources(receivers, lines, room))?;
    let field = py.detach(|| Field::watched(&sources, receivers, lines, check_signals))?;
    let level_db = measures::broadband_db(&field, lines);
    let greatest_db = rig.greatest_gain_db(lines).map(|gain_db| {
        let greatest_db: Vec<f64> = level_db.iter().map(|level| level + gain_db).collect();
        greatest_db.into()
    });
    let fields = LevelsFields {
        band_hz: mids_hz(lines.bands().iter().map(|band| band.number)),
        band_level_db: table(&field.band_levels(lines), receivers.len()),
        greatest_level_db: greatest_db,
        level_db: level_db.as_slice().into(),
    };
    Ok((fields, level_db))
}

/// Middle frequencies of bands by their numbers.
pub(super) fn mids_hz(bands: impl Iterator<Item = i32>) -> Array {
    bands.map(bands::mid_hz).collect::<Vec<f64>>().into()
}

#[pyfunction]
fn band_lines_hz(bands: Vec<i32>, lines_per_band: u32) -> Result<Array> {
    let mut lines = Vec::new();
    for band in bands {
        lines.extend(bands::lines_hz(band, lines_per_band)?);
    }
    Ok(lines.into())
}

#[pyfunction]
#[pyo3(signature = (rig, points_m, air, bands, lines_per_band, venue=None))]
fn point_levels(
    py: Python<'_>,
    rig: RigFields<'_>,
    points_m: PyReadonlyArray2<'_, f64>,
    air: &Air,
    bands: Vec<i32>,
    lines_per_band: u32,
    venue: Option<&Venue>,
) -> PyResult<LevelsFields> {
    let lines = Lines::of_bands(&bands, lines_per_band, &air.0)?;
    let rig = rig.rig()?;
    let room = venue.map(|venue| Room::of(&venue.0));
    Ok(levels(py, &rig, &points(&points_m)?, &lines, room.as_ref())?.0)
}

/// Of each point, whether it lies too near a source to be heard.
#[pyfunction]
fn touched_points(
    py: Python<'_>,
    rig: RigFields<'_>,
    points_m: PyReadonlyArray2<'_, f64>,
) -> PyResult<Array<bool>> {
    let rig = rig.rig()?;
    let points = points(&points_m)?;
    Ok(py.detach(|| rig.touched(&points))?.into())
}

/// Full drive of a rig: shares of the bands, gain, first part to run out, headroom of each band.
#[derive(IntoPyObject)]
struct FullDriveFields {
    share_db: Array,
    gain_db: f64,
    hang: usize,
    cabinet: usize,
    band: Option<usize>,
    band_headroom_db: Vec<Option<f64>>,
}

#[pyfunction]
fn full_drive(
    rig: RigFields<'_>,
    air: &Air,
    bands: Vec<i32>,
    lines_per_band: u32,
    spectrum_db: Vec<f64>,
) -> Result<FullDriveFields> {
    let lines = Lines::of_bands(&bands, lines_per_band, &air.0)?;
    let rig = rig.rig()?;
    let shares_db = drive::shares_db(&spectrum_db, bands.len())?;
    let full = rig.full_drive(&lines, &shares_db)?;
    Ok(FullDriveFields {
        share_db: shares_db.into(),
        gain_db: full.gain_db,
        hang: full.first.hang,
        cabinet: full.first.cabinet,
        band: full.first.band,
        band_headroom_db: full.band_headroom_db,
    })
}

/// Of each seat (rows), whether each cabinet (columns) sees it.
#[derive(IntoPyObject)]
struct SightFields {
    seen: Array<bool>,
    position_m: Array,
    area: Array<i64>,
}

#[pyfunction]
fn sees(py: Python<'_>, rig: RigFields<'_>, venue: &Venue) -> Result<SightFields> {
    let rig = rig.rig()?;
    let room = Room::of(&venue.0);
    rig.check_space(Some(&room))?;
    let fronts_m = rig.fronts_m()?;
    let seats = venue.0.seats();
    let seen = py.detach(|| rooms::seen(&room, &fronts_m, &seats));
    Ok(SightFields {
        seen: Array::shaped(seen, &[seats.len(), fronts_m.len()]),
        position_m: ears(&seats),
        area: areas(&seats),
    })
}

fn ears(seats: &[Seat]) -> Array {
    let ears_m: Vec<_> = seats.iter().map(|seat| seat.ear_m).collect();
    table(&ears_m, 3)
}

fn areas(seats: &[Seat]) -> Array<i64> {
    counts(seats.iter().map(|seat| seat.area))
}

/// Whole numbers as NumPy's own, which go below 0 where they are taken from each other.
fn counts(counts: impl Iterator<Item = usize>) -> Array<i64> {
    counts.map(|count| count as i64).collect::<Vec<_>>().into()
}

/// The half plane's factor for detours in wavelengths, negative where the path is free.
#[pyfunction]
fn edge_factor(detour_waves: PyReadonlyArray1<'_, f64>) -> PyResult<Array<Complex<f64>>> {
    let waves = detour_waves.as_slice()?.iter();
    let factors: Vec<_> = waves.map(|&waves| rooms::factor(waves)).collect();
    Ok(factors.into())
}

#[derive(IntoPyObject)]
struct SeatLevelsFields {
    band_hz: Array,
    band_level_db: Array,
    greatest_level_db: Option<Array>,
    level_db: Array,
    position_m: Array,
    weight: Array,
    area: Array<i64>,
    cabinets_seen: Array<i64>,
    evenness_db: f64,
}

#[pyfunction]
fn seat_levels(
    py: Python<'_>,
    rig: RigFields<'_>,
    venue: &Venue,
    air: &Air,
    bands: Vec<i32>,
    lines_per_band: u32,
) -> PyResult<SeatLevelsFields> {
    let lines = Lines::of_bands(&bands, lines_per_band, &air.0)?;
    let rig = rig.rig()?;
    let seats = venue.0.seats();
    let room = Room::of(&venue.0);
    let seen = rooms::seen_count(&room, &rig.fronts_m()?, &seats);
    let counted = rooms::counted(&venue.0, &seats, &seen)?;
    let receivers = Receivers::of_seats(&counted);
    let (fields, level_db) = levels(py, &rig, &receivers, &lines, Some(&room))?;
    let evenness_db = measures::spread_db(&level_db, receivers.weight());
    Ok(SeatLevelsFields {
        band_hz: fields.band_hz,
        band_level_db: fields.band_level_db,
        greatest_level_db: fields.greatest_level_db,
        level_db: fields.level_db,
        position_m: ears(&seats),
        weight: receivers.weight().into(),
        area: areas(&seats),
        cabinets_seen: counts(seen.into_iter()),
        evenness_db: measures::where_all_hear(evenness_db)?,
    })
}

#[pyfunction]
fn weighting_db(frequency_hz: PyReadonlyArray1<'_, f64>, weighting: &str) -> PyResult<Array> {
    let weighting = Weighting::named(weighting)?;
    let values = frequency_hz.as_slice()?.iter().map(|&f| weighting.db(f));
    Ok(values.collect::<Vec<f64>>().into())
}

/// Measures of a venue's levels beside their spread.
#[derive(IntoPyObject)]
struct CoverageFields {
    fall_per_doubling_db: Option<f64>,
    spectral_spread_db: f64,
    share_of_holes: f64,
}

#[pyfunction]
fn coverage(
    band_level_db: Vec<Vec<f64>>,
    level_db: Vec<f64>,
    distance_m: Vec<f64>,
    weight: Vec<f64>,
    hole_depth_db: f64,
) -> CoverageFields {
    CoverageFields {
        fall_per_doubling_db: measures::fall_per_doubling_db(&level_db, &distance_m, &weight),
        spectral_spread_db: spectral::spread_db(&band_level_db, &weight),
        share_of_holes: measures::share_of_holes(&level_db, &weight, hole_depth_db),
    }
}

#[derive(IntoPyObject)]
struct UnevennessFields {
    unevenness_db: f64,
    band_spread_db: Array,
    band_mean_db: Array,
    mean_db: f64,
    spectral_spread_db: f64,
    share_3_db_below: f64,
    share_6_db_below: f64,
}

/// How unevenly seats are served, from their levels band by band.
#[pyfunction]
fn unevenness_of_levels(
    band_level_db: Vec<Vec<f64>>,
    weight: Vec<f64>,
) -> Result<UnevennessFields> {
    let band_weight = vec![1.0; band_level_db.len()];
    let measures = unevenness::of_levels(&band_level_db, &weight, None, &band_weight);
    measures::where_all_hear(measures.unevenness_db)?;
    Ok(UnevennessFields {
        unevenness_db: measures.unevenness_db,
        band_spread_db: measures.band_spread_db.into(),
        band_mean_db: measures.band_mean_db.into(),
        mean_db: measures.mean_db,
        spectral_spread_db: measures.spectral_spread_db,
        share_3_db_below: measures.share_3_db_below,
        share_6_db_below: measures.share_6_db_below,
    })
}

#[derive(IntoPyObject)]
struct AreaFields {
    mean_db: f64,
    least_db: f64,
    greatest_db: f64,
    evenness_db: f64,
}

#[pyfunction]
fn area_levels(
    level_db: PyReadonlyArray1<'_, f64>,
    weight: PyReadonlyArray1<'_, f64>,
    area: Vec<usize>,
) -> PyResult<Vec<AreaFields>> {
    let found = summary::by_area(level_db.as_slice()?, weight.as_slice()?, &area);
    let rows = found.into_iter().map(|levels| AreaFields {
        mean_db: levels.mean_db,
        least_db: levels.least_db,
        greatest_db: levels.greatest_db,
        evenness_db: levels.evenness_db,
    });
    Ok(rows.collect())
}

/// The registers of this machine that the field can use, widest last.
#[pyfunction]
fn registers() -> Vec<&'static str> {
    Registers::available()
        .into_iter()
        .map(Registers::name)
        .collect()
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("EVENNESS_BANDS", bands::EVENNESS.to_vec())?;
    module.add_function(wrap_pyfunction!(air_absorption_db_per_m, module)?)?;
    module.add_function(wrap_pyfunction!(sound_speed_m_s, module)?)?;
    module.add_function(wrap_pyfunction!(registers, module)?)?;
    module.add("LARGEST", LARGEST)?;
    module.add("FAR_FIELD_TOLERANCE", FAR_FIELD_TOLERANCE)?;
    module.add_function(wrap_pyfunction!(band_lines_hz, module)?)?;
    module.add_function(wrap_pyfunction!(edge_factor, module)?)?;
    module.add_function(wrap_pyfunction!(sees, module)?)?;
    module.add_function(wrap_pyfunction!(touched_points, module)?)?;
    module.add_function(wrap_pyfunction!(full_drive, module)?)?;
    module.add_function(wrap_pyfunction!(weighting_db, module)?)?;
    module.add_function(wrap_pyfunction!(coverage, module)?)?;
    module.add_function(wrap_pyfunction!(point_levels, module)?)?;
    module.add_function(wrap_pyfunction!(pressure, module)?)?;
    module.add_function(wrap_pyfunction!(seat_levels, module)?)?;
    module.add_function(wrap_pyfunction!(unevenness_of_levels, module)?)?;
    module.add_function(wrap_pyfunction!(area_levels, module)?)
}
