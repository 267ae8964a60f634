//! Air, pressure, levels and evenness at the Python face.

use super::error::or_raise;
use super::model::{Air, Hang, Venue};
use crate::acoustics::bands::Weighting;
use crate::acoustics::cutting::FAR_FIELD_TOLERANCE;
use crate::acoustics::field::{Registers, limit};
use crate::acoustics::unevenness::Unevenness;
use crate::acoustics::{
    Field, Lines, Placed, Receivers, Rig, Room, Signal, air, bands, drive, field, measures, rooms,
    spectral, summary, unevenness,
};
use crate::error::{LARGEST, Result};
use crate::model;
use crate::pose::Placement;
use crate::threads;
use nalgebra::Complex;
use numpy::{
    PyArray1, PyArray2, PyArrayMethods, PyReadonlyArray1, PyReadonlyArray2, PyReadonlyArray3,
};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use std::sync::Arc;

#[pyfunction]
fn air_absorption_db_per_m<'py>(
    py: Python<'py>,
    frequency_hz: PyReadonlyArray1<'py, f64>,
    air: &Air,
) -> PyResult<Bound<'py, PyArray1<f64>>> {
    let frequency_hz = frequency_hz.as_slice()?;
    or_raise(py, Lines::of_frequencies(frequency_hz, &air.0))?;
    let values = frequency_hz
        .iter()
        .map(|&f| air::absorption_db_per_m(&air.0, f));
    Ok(PyArray1::from_iter(py, values))
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
            hang: &self.hang.get().0,
            tilt_deg: self.tilt_deg,
            top_m: self.top_m,
            placement: Placement {
                x_m: self.position_m.0,
                y_m: self.position_m.1,
                pan_rad: self.pan_deg.to_radians(),
            },
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

/// Refuses a field, with so many further numbers a receiver, that does not fit into memory.
fn check_memory(py: Python<'_>, receivers: &Receivers, lines: &Lines, more: usize) -> PyResult<()> {
    let [points, lines] = [receivers.len(), lines.len()];
    let asked = format!("{points} receivers at {lines} frequencies");
    let bytes = 8.0 * points as f64 * (2 * lines + more) as f64;
    or_raise(py, crate::memory::fits("receivers_m", &asked, bytes))
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

/// A measured cabinet held by the core.
#[pyclass(frozen, module = "hangarc._core")]
struct Balloon(Arc<model::Balloon>);

#[pymethods]
impl Balloon {
    #[new]
    fn new(
        py: Python<'_>,
        frequency_hz: Vec<f64>,
        azimuth_deg: Vec<f64>,
        elevation_deg: Vec<f64>,
        response: PyReadonlyArray3<'_, Complex<f64>>,
    ) -> PyResult<Self> {
        let response = response.as_slice()?.to_vec();
        let balloon =
            py.detach(|| model::Balloon::new(frequency_hz, azimuth_deg, elevation_deg, response));
        Ok(Self(Arc::new(or_raise(py, balloon)?)))
    }

    /// A measurement brought to 1 m: its response, and the delay taken out.
    #[staticmethod]
    fn at_one_metre<'py>(
        py: Python<'py>,
        distance_m: f64,
        delay_s: Option<f64>,
        frequency_hz: Vec<f64>,
        azimuth_deg: Vec<f64>,
        elevation_deg: Vec<f64>,
        pressure: PyReadonlyArray3<'py, Complex<f64>>,
    ) -> PyResult<(Bound<'py, PyArray1<Complex<f64>>>, f64)> {
        let pressure = pressure.as_slice()?.to_vec();
        let brought = py.detach(|| {
            model::Balloon::measured_at(
                distance_m,
                delay_s,
                frequency_hz,
                azimuth_deg,
                elevation_deg,
                pressure,
            )
        });
        let (balloon, taken_s) = or_raise(py, brought)?;
        Ok((PyArray1::from_slice(py, balloon.response()), taken_s))
    }

    /// The delay that all directions share.
    fn delay_s(&self) -> f64 {
        self.0.delay_s()
    }

    /// The response in some directions (rows) at some frequencies (columns).
    fn towards<'py>(
        &self,
        py: Python<'py>,
        azimuth_deg: Vec<f64>,
        elevation_deg: Vec<f64>,
        frequency_hz: Vec<f64>,
    ) -> PyResult<Bound<'py, PyArray2<Complex<f64>>>> {
        let out = PyArray2::zeros(py, [azimuth_deg.len(), frequency_hz.len()], false);
        let directions = azimuth_deg.iter().zip(&elevation_deg);
        for (row, (azimuth, elevation)) in out
            .try_readwrite()?
            .as_slice_mut()?
            .chunks_mut(frequency_hz.len().max(1))
            .zip(directions)
        {
            row.copy_from_slice(&self.0.response_towards(*azimuth, *elevation, &frequency_hz));
        }
        Ok(out)
    }

    /// What every second value, left out, differs by along each axis.
    fn left_out<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let list = PyList::empty(py);
        for left_out in py.detach(|| self.0.left_out()) {
            let fields = PyDict::new(py);
            fields.set_item("along", left_out.axis.name())?;
            fields.set_item("count", left_out.count)?;
            fields.set_item("level_rms_db", left_out.level_db[0])?;
            fields.set_item("level_most_db", left_out.level_db[1])?;
            fields.set_item("phase_rms_deg", left_out.phase_deg[0])?;
            fields.set_item("phase_most_deg", left_out.phase_deg[1])?;
            list.append(fields)?;
        }
        Ok(list)
    }
}

#[pyfunction]
#[allow(clippy::too_many_arguments, reason = "one a field of the face")]
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
    let registers = or_raise(py, Registers::named(registers))?;
    let receivers = points(&receivers_m)?;
    let lines = or_raise(py, Lines::of_frequencies(frequency_hz.as_slice()?, &air.0))?;
    let rig = or_raise(py, rig.rig())?;
    check_memory(py, &receivers, &lines, 0)?;
    let room = venue.map(|venue| Room::of(&venue.0));
    let sources = or_raise(
        py,
        py.detach(|| rig.sources(&receivers, &lines, room.as_ref())),
    )?;
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
fn levels<'py>(
    py: Python<'py>,
    rig: &Rig<'_>,
    receivers: &Receivers,
    lines: &Lines,
    room: Option<&Room>,
) -> PyResult<(Bound<'py, PyDict>, Vec<f64>)> {
    // Twice the bands: as the core makes them, and as NumPy's.
    check_memory(py, receivers, lines, 2 * lines.bands().len())?;
    let sources = or_raise(py, py.detach(|| rig.sources(receivers, lines, room)))?;
    let field = py.detach(|| Field::watched(&sources, receivers, lines, check_signals))?;
    let level_db = measures::broadband_db(&field, lines);
    let greatest_db = rig
        .greatest_gain_db(lines)
        .map(|gain_db| PyArray1::from_iter(py, level_db.iter().map(|level| level + gain_db)));
    let band_hz = lines.bands().iter().map(|band| bands::mid_hz(band.number));
    let bands = field.band_levels(lines);
    let band_level_db = PyArray2::zeros(py, [bands.len(), receivers.len()], false);
    for (row, levels) in band_level_db
        .try_readwrite()?
        .as_slice_mut()?
        .chunks_mut(receivers.len().max(1))
        .zip(&bands)
    {
        row.copy_from_slice(levels);
    }
    let fields = PyDict::new(py);
    fields.set_item("band_hz", PyArray1::from_iter(py, band_hz))?;
    fields.set_item("band_level_db", band_level_db)?;
    fields.set_item("greatest_level_db", greatest_db)?;
    fields.set_item("level_db", PyArray1::from_slice(py, &level_db))?;
    Ok((fields, level_db))
}

#[pyfunction]
fn band_lines_hz<'py>(
    py: Python<'py>,
    bands: Vec<i32>,
    lines_per_band: u32,
) -> PyResult<Bound<'py, PyArray1<f64>>> {
    let mut lines = Vec::new();
    for band in bands {
        lines.extend(or_raise(py, bands::lines_hz(band, lines_per_band))?);
    }
    Ok(PyArray1::from_vec(py, lines))
}

#[pyfunction]
#[pyo3(signature = (rig, points_m, air, bands, lines_per_band, venue=None))]
fn point_levels<'py>(
    py: Python<'py>,
    rig: RigFields<'py>,
    points_m: PyReadonlyArray2<'py, f64>,
    air: &Air,
    bands: Vec<i32>,
    lines_per_band: u32,
    venue: Option<&Venue>,
) -> PyResult<Bound<'py, PyDict>> {
    let lines = or_raise(py, Lines::of_bands(&bands, lines_per_band, &air.0))?;
    let rig = or_raise(py, rig.rig())?;
    let room = venue.map(|venue| Room::of(&venue.0));
    Ok(levels(py, &rig, &points(&points_m)?, &lines, room.as_ref())?.0)
}

/// Of each point, whether it lies too near a source to be heard.
#[pyfunction]
fn touched_points<'py>(
    py: Python<'py>,
    rig: RigFields<'py>,
    points_m: PyReadonlyArray2<'py, f64>,
) -> PyResult<Bound<'py, PyArray1<bool>>> {
    let rig = or_raise(py, rig.rig())?;
    let points = points(&points_m)?;
    let touched = or_raise(py, py.detach(|| rig.touched(&points)))?;
    Ok(PyArray1::from_vec(py, touched))
}

/// Full drive of a rig: shares of the bands, gain, first part to run out, headroom of each band.
#[pyfunction]
fn full_drive<'py>(
    py: Python<'py>,
    rig: RigFields<'py>,
    air: &Air,
    bands: Vec<i32>,
    lines_per_band: u32,
    spectrum_db: Vec<f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let lines = or_raise(py, Lines::of_bands(&bands, lines_per_band, &air.0))?;
    let rig = or_raise(py, rig.rig())?;
    let shares_db = or_raise(py, drive::shares_db(&spectrum_db, bands.len()))?;
    let full = or_raise(py, rig.full_drive(&lines, &shares_db))?;
    let fields = PyDict::new(py);
    fields.set_item("share_db", PyArray1::from_vec(py, shares_db))?;
    fields.set_item("gain_db", full.gain_db)?;
    fields.set_item("hang", full.first.hang)?;
    fields.set_item("cabinet", full.first.cabinet)?;
    fields.set_item("band", full.first.band)?;
    fields.set_item("band_headroom_db", full.band_headroom_db)?;
    Ok(fields)
}

/// Of each seat (rows), whether each cabinet (columns) sees it.
#[pyfunction]
fn sees<'py>(py: Python<'py>, rig: RigFields<'py>, venue: &Venue) -> PyResult<Bound<'py, PyDict>> {
    let rig = or_raise(py, rig.rig())?;
    let room = Room::of(&venue.0);
    or_raise(py, rig.check_space(Some(&room)))?;
    let fronts_m = or_raise(py, rig.fronts_m())?;
    let seats = venue.0.seats();
    let seen = py.detach(|| rooms::seen(&room, &fronts_m, &seats));
    let out = PyArray2::zeros(py, [seats.len(), fronts_m.len()], false);
    for (to, from) in out.try_readwrite()?.as_slice_mut()?.iter_mut().zip(seen) {
        *to = from;
    }
    let positions: Vec<Vec<f64>> = seats.iter().map(|seat| seat.ear_m.to_vec()).collect();
    let fields = PyDict::new(py);
    fields.set_item("seen", out)?;
    fields.set_item("position_m", PyArray2::from_vec2(py, &positions)?)?;
    let area = seats.iter().map(|seat| seat.area);
    fields.set_item("area", PyArray1::from_iter(py, area))?;
    Ok(fields)
}

/// The half plane's factor for detours in wavelengths, negative where the path is free.
#[pyfunction]
fn edge_factor<'py>(
    py: Python<'py>,
    detour_waves: PyReadonlyArray1<'py, f64>,
) -> PyResult<Bound<'py, PyArray1<Complex<f64>>>> {
    let waves = detour_waves.as_slice()?.iter();
    Ok(PyArray1::from_iter(
        py,
        waves.map(|&waves| rooms::factor(waves)),
    ))
}

#[pyfunction]
fn seat_levels<'py>(
    py: Python<'py>,
    rig: RigFields<'py>,
    venue: &Venue,
    air: &Air,
    bands: Vec<i32>,
    lines_per_band: u32,
) -> PyResult<Bound<'py, PyDict>> {
    let lines = or_raise(py, Lines::of_bands(&bands, lines_per_band, &air.0))?;
    let rig = or_raise(py, rig.rig())?;
    let seats = venue.0.seats();
    let room = Room::of(&venue.0);
    let seen = rooms::seen_count(&room, &or_raise(py, rig.fronts_m())?, &seats);
    let counted = or_raise(py, rooms::counted(&venue.0, &seats, &seen))?;
    let receivers = Receivers::of_seats(&counted);
    let (fields, level_db) = levels(py, &rig, &receivers, &lines, Some(&room))?;
    let positions: Vec<Vec<f64>> = seats.iter().map(|seat| seat.ear_m.to_vec()).collect();
    fields.set_item("position_m", PyArray2::from_vec2(py, &positions)?)?;
    fields.set_item("weight", PyArray1::from_slice(py, receivers.weight()))?;
    let area = seats.iter().map(|seat| seat.area);
    fields.set_item("area", PyArray1::from_iter(py, area))?;
    fields.set_item("cabinets_seen", PyArray1::from_vec(py, seen))?;
    let evenness_db = measures::spread_db(&level_db, receivers.weight());
    let evenness_db = or_raise(py, measures::where_all_hear(evenness_db))?;
    fields.set_item("evenness_db", evenness_db)?;
    Ok(fields)
}

#[pyfunction]
fn weighting_db<'py>(
    py: Python<'py>,
    frequency_hz: PyReadonlyArray1<'py, f64>,
    weighting: &str,
) -> PyResult<Bound<'py, PyArray1<f64>>> {
    let weighting = or_raise(py, Weighting::named(weighting))?;
    let values = frequency_hz.as_slice()?.iter().map(|&f| weighting.db(f));
    Ok(PyArray1::from_iter(py, values))
}

/// Measures of a venue's levels beside their spread.
#[pyfunction]
fn coverage<'py>(
    py: Python<'py>,
    band_level_db: Vec<Vec<f64>>,
    level_db: Vec<f64>,
    distance_m: Vec<f64>,
    weight: Vec<f64>,
    hole_depth_db: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    let fall_db = measures::fall_per_doubling_db(&level_db, &distance_m, &weight);
    let spread_db = spectral::spread_db(&band_level_db, &weight);
    let holes = measures::share_of_holes(&level_db, &weight, hole_depth_db);
    fields.set_item("fall_per_doubling_db", fall_db)?;
    fields.set_item("spectral_spread_db", spread_db)?;
    fields.set_item("share_of_holes", holes)?;
    Ok(fields)
}

/// How unevenly seats are served, from their levels band by band.
#[pyfunction]
fn unevenness_of_levels<'py>(
    py: Python<'py>,
    band_level_db: Vec<Vec<f64>>,
    weight: Vec<f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let band_weight = vec![1.0; band_level_db.len()];
    let measures = unevenness::of_levels(&band_level_db, &weight, None, &band_weight);
    or_raise(py, measures::where_all_hear(measures.unevenness_db))?;
    unevenness_fields(py, &measures)
}

pub(super) fn unevenness_fields<'py>(
    py: Python<'py>,
    measures: &Unevenness,
) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    fields.set_item("unevenness_db", measures.unevenness_db)?;
    let spread_db = PyArray1::from_slice(py, &measures.band_spread_db);
    fields.set_item("band_spread_db", spread_db)?;
    let mean_db = PyArray1::from_slice(py, &measures.band_mean_db);
    fields.set_item("band_mean_db", mean_db)?;
    fields.set_item("mean_db", measures.mean_db)?;
    fields.set_item("spectral_spread_db", measures.spectral_spread_db)?;
    fields.set_item("share_3_db_below", measures.share_3_db_below)?;
    fields.set_item("share_6_db_below", measures.share_6_db_below)?;
    Ok(fields)
}

#[pyfunction]
fn area_levels<'py>(
    py: Python<'py>,
    level_db: PyReadonlyArray1<'py, f64>,
    weight: PyReadonlyArray1<'py, f64>,
    area: Vec<usize>,
) -> PyResult<Bound<'py, PyList>> {
    let list = PyList::empty(py);
    for levels in summary::by_area(level_db.as_slice()?, weight.as_slice()?, &area) {
        let fields = PyDict::new(py);
        fields.set_item("mean_db", levels.mean_db)?;
        fields.set_item("least_db", levels.least_db)?;
        fields.set_item("greatest_db", levels.greatest_db)?;
        fields.set_item("evenness_db", levels.evenness_db)?;
        list.append(fields)?;
    }
    Ok(list)
}

/// The registers of this machine that the field can use, widest last.
#[pyfunction]
fn registers() -> Vec<&'static str> {
    Registers::available()
        .into_iter()
        .map(Registers::name)
        .collect()
}

/// Seconds a term takes each thread at best; see `acoustics::field::limit`.
#[pyfunction]
fn limit_s_per_term(py: Python<'_>, registers: &str, rounds: usize) -> PyResult<f64> {
    let registers = or_raise(py, Registers::named(registers))?;
    Ok(py.detach(|| limit::seconds_per_term(registers, rounds)))
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("EVENNESS_BANDS", bands::EVENNESS.to_vec())?;
    module.add_function(wrap_pyfunction!(air_absorption_db_per_m, module)?)?;
    module.add_function(wrap_pyfunction!(sound_speed_m_s, module)?)?;
    module.add_function(wrap_pyfunction!(registers, module)?)?;
    module.add_function(wrap_pyfunction!(limit_s_per_term, module)?)?;
    module.add("LARGEST", LARGEST)?;
    module.add("FAR_FIELD_TOLERANCE", FAR_FIELD_TOLERANCE)?;
    module.add_class::<Balloon>()?;
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
