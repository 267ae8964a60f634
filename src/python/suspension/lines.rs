//! Hangs on lines that stretch, and lifts off a cart, at the Python face.

use crate::python::arrays::{degrees, point};
use crate::python::error::or_raise;
use crate::python::model::Hang;
use crate::python::statics::limit_rows;
use crate::statics::suspension::on_lines::{
    LiftInput, LinesInput, lift_off as lift, on_lines as rest,
};
use numpy::{PyArray1, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// Everything of a hang on its lines but the hang.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
struct LinesCase {
    tilt_deg: f64,
    pick_x_m: Vec<f64>,
    line_m: Vec<f64>,
    stiffness_n_m: Vec<f64>,
    longer_m: Vec<f64>,
    roof_forward_m: Vec<f64>,
    failed: Option<usize>,
    trimmed_loaded: bool,
    hoist_limit_n: Option<f64>,
}

#[pyfunction]
fn hang_on_lines<'py>(
    py: Python<'py>,
    hang: &Hang,
    case: LinesCase,
) -> PyResult<Bound<'py, PyDict>> {
    let input = LinesInput {
        tilt_deg: case.tilt_deg,
        pick_x_m: case.pick_x_m,
        line_m: case.line_m,
        stiffness_n_m: case.stiffness_n_m,
        longer_m: case.longer_m,
        roof_forward_m: case.roof_forward_m,
        failed: case.failed,
        trimmed_loaded: case.trimmed_loaded,
        hoist_limit_n: case.hoist_limit_n,
    };
    let found = or_raise(py, rest(&hang.0, &input))?;
    let fields = PyDict::new(py);
    fields.set_item("ended", ended(found.found))?;
    fields.set_item("residual", found.residual)?;
    fields.set_item("tilt_deg", found.tilt_rad.to_degrees())?;
    fields.set_item("cg_moved_m", point(py, found.cg_moved_m))?;
    fields.set_item("hoist_load_n", PyArray1::from_vec(py, found.hoist_n))?;
    fields.set_item("line_lean_deg", degrees(py, &found.lean_rad))?;
    fields.set_item("limits", limit_rows(py, &found.limits)?)?;
    Ok(fields)
}

fn ended(found: bool) -> &'static str {
    if found { "at rest" } else { "no rest found" }
}

/// Everything of a lift but the hang.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
struct LiftCase {
    cabinets: usize,
    pick_x_m: Vec<f64>,
    line_m: f64,
    stiffness_n_m: f64,
    floor_stiffness_n_m: f64,
    raised_m: Vec<f64>,
}

#[pyfunction]
fn lift_off<'py>(py: Python<'py>, hang: &Hang, case: LiftCase) -> PyResult<Bound<'py, PyDict>> {
    let hoists = case.pick_x_m.len();
    let input = LiftInput {
        cabinets: case.cabinets,
        pick_x_m: case.pick_x_m,
        line_m: case.line_m,
        stiffness_n_m: case.stiffness_n_m,
        floor_stiffness_n_m: case.floor_stiffness_n_m,
        raised_m: case.raised_m,
    };
    let hang = &hang.0;
    let found = or_raise(py, py.detach(|| lift(hang, &input)))?;
    let rows = &found.rows;
    let fields = PyDict::new(py);
    let all = rows.iter().all(|row| row.found);
    fields.set_item("ended", ended(all))?;
    let residual = rows.iter().map(|row| row.residual).fold(0.0, f64::max);
    fields.set_item("residual", residual)?;
    fields.set_item("weight_n", found.weight_n)?;
    let column = |value: fn(&_) -> f64| PyArray1::from_iter(py, rows.iter().map(value));
    fields.set_item("raised_m", column(|row| row.raised_m))?;
    fields.set_item("tilt_deg", column(|row| row.tilt_rad.to_degrees()))?;
    let loads: Vec<f64> = rows.iter().flat_map(|row| row.hoist_n.clone()).collect();
    let loads = PyArray1::from_vec(py, loads).reshape([rows.len(), hoists])?;
    fields.set_item("hoist_load_n", loads)?;
    let stands: Vec<f64> = rows.iter().flat_map(|row| row.floor_n).collect();
    let stands = PyArray1::from_vec(py, stands).reshape([rows.len(), 2])?;
    fields.set_item("floor_n", stands)?;
    fields.set_item("free_at_m", found.free_at_m)?;
    let free = PyArray1::from_vec(py, found.free_hoist_n);
    fields.set_item("free_hoist_n", free)?;
    Ok(fields)
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(hang_on_lines, module)?)?;
    module.add_function(wrap_pyfunction!(lift_off, module)?)
}
