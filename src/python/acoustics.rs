//! Air, pressure, levels and evenness at the Python face.

use super::error::or_raise;
use super::model::{Air, Hang, Venue};
use crate::acoustics::element::{self, FAR_FIELD_TOLERANCE};
use crate::acoustics::field::{Registers, limit};
use crate::acoustics::{Field, Lines, Receivers, Sources, air, bands, field, measures, summary};
use crate::error::Result;
use crate::model;
use crate::pose::{Placement, pose};
use nalgebra::Complex;
use numpy::{PyArray1, PyArray2, PyArrayMethods, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

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

/// A hang as it hangs in the room.
struct Hung<'a> {
    hang: &'a model::Valid<model::Hang>,
    tilt_deg: f64,
    top_m: f64,
    placement: Placement,
}

impl Hung<'_> {
    fn sources(&self, receivers: &Receivers, lines: &Lines) -> Result<Sources> {
        let Self {
            hang, placement, ..
        } = *self;
        let pose = pose(hang, self.tilt_deg, self.top_m)?;
        let parts = element::parts_within(
            FAR_FIELD_TOLERANCE,
            hang,
            &pose,
            placement,
            receivers,
            lines,
        )?;
        Sources::of_cabinets(hang, &pose, placement, 0..hang.cabinets.len(), parts)
    }
}

fn placement(position_m: (f64, f64), pan_deg: f64) -> Placement {
    Placement {
        x_m: position_m.0,
        y_m: position_m.1,
        pan_rad: pan_deg.to_radians(),
    }
}

#[pyfunction]
#[expect(
    clippy::too_many_arguments,
    reason = "the arguments of the Python function"
)]
fn pressure<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    top_m: f64,
    receivers_m: PyReadonlyArray2<'py, f64>,
    frequency_hz: PyReadonlyArray1<'py, f64>,
    air: &Air,
    position_m: (f64, f64),
    pan_deg: f64,
    registers: &str,
) -> PyResult<Bound<'py, PyArray2<Complex<f64>>>> {
    let registers = or_raise(py, Registers::named(registers))?;
    let points = receivers_m.as_slice()?.chunks_exact(3);
    let receivers = Receivers::of_points(points.map(|point| [point[0], point[1], point[2]]));
    let lines = or_raise(py, Lines::of_frequencies(frequency_hz.as_slice()?, &air.0))?;
    let hung = Hung {
        hang: &hang.0,
        tilt_deg,
        top_m,
        placement: placement(position_m, pan_deg),
    };
    let sources = or_raise(py, py.detach(|| hung.sources(&receivers, &lines)))?;
    let out = PyArray2::zeros(py, [lines.len(), receivers.len()], false);
    {
        let mut writing = out.try_readwrite()?;
        let values = writing.as_slice_mut()?;
        let pause = || Python::attach(|py| py.check_signals());
        py.detach(|| {
            field::write_pressure(registers, &sources, &receivers, &lines, values, pause)
        })?;
    }
    Ok(out)
}

#[pyfunction]
#[expect(
    clippy::too_many_arguments,
    reason = "the arguments of the Python function"
)]
fn seat_levels<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    top_m: f64,
    venue: &Venue,
    air: &Air,
    position_m: (f64, f64),
    pan_deg: f64,
    bands: Vec<i32>,
    lines_per_band: u32,
) -> PyResult<Bound<'py, PyDict>> {
    let hung = Hung {
        hang: &hang.0,
        tilt_deg,
        top_m,
        placement: placement(position_m, pan_deg),
    };
    let lines = or_raise(py, Lines::of_bands(&bands, lines_per_band, &air.0))?;
    let seats = venue.0.seats();
    let receivers = Receivers::of_seats(&seats);
    let field = or_raise(
        py,
        py.detach(|| {
            let sources = hung.sources(&receivers, &lines)?;
            Ok(Field::of(&sources, &receivers, &lines))
        }),
    )?;
    let positions: Vec<Vec<f64>> = seats.iter().map(|seat| seat.ear_m.to_vec()).collect();
    let level_db = measures::broadband_db(&field, &lines);
    let fields = PyDict::new(py);
    fields.set_item("position_m", PyArray2::from_vec2(py, &positions)?)?;
    fields.set_item("weight", PyArray1::from_slice(py, receivers.weight()))?;
    fields.set_item(
        "area",
        PyArray1::from_iter(py, seats.iter().map(|seat| seat.area)),
    )?;
    fields.set_item(
        "band_hz",
        PyArray1::from_iter(py, bands.iter().map(|&b| bands::mid_hz(b))),
    )?;
    fields.set_item(
        "band_level_db",
        PyArray2::from_vec2(py, &field.band_levels(&lines))?,
    )?;
    let evenness_db = measures::spread_db(&level_db, receivers.weight());
    fields.set_item("level_db", PyArray1::from_vec(py, level_db))?;
    fields.set_item("evenness_db", evenness_db)?;
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
    module.add_function(wrap_pyfunction!(pressure, module)?)?;
    module.add_function(wrap_pyfunction!(seat_levels, module)?)?;
    module.add_function(wrap_pyfunction!(area_levels, module)?)
}
