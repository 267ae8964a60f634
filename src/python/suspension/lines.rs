//! Hangs on lines that stretch, and lifts off a cart, at the Python face.

use crate::error::Result;
use crate::pose::Hanging;
use crate::python::arrays::{Array, degrees, point, table};
use crate::python::model::Hang;
use crate::python::statics::{LimitFields, limit_rows};
use crate::statics::suspension::on_lines::{
    LiftInput, LinesEnd, LinesInput, lift_off as lift, on_lines as rest,
};
use pyo3::prelude::*;

#[derive(IntoPyObject)]
struct OnLinesFields {
    ended: &'static str,
    residual: f64,
    tilt_deg: f64,
    cg_moved_m: Array,
    hoist_load_n: Array,
    line_lean_deg: Array,
    limits: Vec<LimitFields>,
}

#[pyfunction]
fn hang_on_lines(
    hang: &Hang,
    tilt_deg: f64,
    pick_x_m: Vec<f64>,
    input: LinesInput,
) -> Result<OnLinesFields> {
    let found = rest(&Hanging::at(&hang.0, tilt_deg).on(&pick_x_m), &input)?;
    Ok(OnLinesFields {
        ended: found.end.name(),
        residual: found.residual,
        tilt_deg: found.tilt_rad.to_degrees(),
        cg_moved_m: point(found.cg_moved_m),
        hoist_load_n: found.hoist_n.into(),
        line_lean_deg: degrees(&found.lean_rad),
        limits: limit_rows(&found.limits),
    })
}

#[derive(IntoPyObject)]
struct LiftOffFields {
    ended: &'static str,
    residual: f64,
    weight_n: f64,
    raised_m: Array,
    tilt_deg: Array,
    hoist_load_n: Array,
    floor_n: Array,
    free_at_m: Option<f64>,
    free_hoist_n: Array,
}

#[pyfunction]
fn lift_off(py: Python<'_>, hang: &Hang, input: LiftInput) -> Result<LiftOffFields> {
    let hang = &hang.0;
    let found = py.detach(|| lift(hang, &input))?;
    let rows = &found.rows;
    let column = |value: fn(&_) -> f64| rows.iter().map(value).collect::<Vec<f64>>().into();
    let loads: Vec<&Vec<f64>> = rows.iter().map(|row| &row.hoist_n).collect();
    let stands: Vec<_> = rows.iter().map(|row| row.floor_n).collect();
    let worst = rows.iter().find(|row| row.end != LinesEnd::AtRest);
    Ok(LiftOffFields {
        ended: worst.map_or(LinesEnd::AtRest, |row| row.end).name(),
        residual: rows.iter().map(|row| row.residual).fold(0.0, f64::max),
        weight_n: found.weight_n,
        raised_m: column(|row| row.raised_m),
        tilt_deg: column(|row| row.tilt_rad.to_degrees()),
        hoist_load_n: table(&loads, input.pick_x_m.len()),
        floor_n: table(&stands, 2),
        free_at_m: found.free_at_m,
        free_hoist_n: found.free_hoist_n.into(),
    })
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(hang_on_lines, module)?)?;
    module.add_function(wrap_pyfunction!(lift_off, module)?)
}
