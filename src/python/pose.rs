//! `pose` at the Python face.

use super::arrays::{degrees, point, points, quads};
use super::error::or_raise;
use super::model::{Hang, Venue};
use crate::pose as core;
use pyo3::prelude::*;
use pyo3::types::PyDict;

#[pyfunction]
fn pose<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    top_m: f64,
    splays_deg: Option<Vec<f64>>,
) -> PyResult<Bound<'py, PyDict>> {
    let pose = match splays_deg {
        Some(angles) => core::pose_at(&hang.0, &angles, tilt_deg, top_m),
        None => core::pose(&hang.0, tilt_deg, top_m),
    };
    let pose = or_raise(py, pose)?;
    let fields = PyDict::new(py);
    fields.set_item("axis_deg", degrees(py, &pose.axis_rad))?;
    fields.set_item("hinge_m", points(py, &pose.hinge_m)?)?;
    fields.set_item("front_m", points(py, &pose.front_m)?)?;
    fields.set_item("corners_m", quads(py, &pose.corners_m)?)?;
    fields.set_item("pick_m", points(py, &pose.pick_m)?)?;
    let chain = pose.chain_m.map(|ends| points(py, &ends)).transpose()?;
    fields.set_item("chain_m", chain)?;
    fields.set_item("cg_m", point(py, pose.cg_m))?;
    fields.set_item("mass_kg", pose.mass_kg)?;
    fields.set_item("trim_m", pose.trim_m)?;
    Ok(fields)
}

#[pyfunction]
fn throws<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    top_m: f64,
    venue: &Venue,
) -> PyResult<Vec<Option<Bound<'py, PyDict>>>> {
    let pose = or_raise(py, core::pose(&hang.0, tilt_deg, top_m))?;
    core::throws(&pose, &venue.0)
        .into_iter()
        .map(|throw| throw.map(|throw| throw_fields(py, &throw)).transpose())
        .collect()
}

fn throw_fields<'py>(py: Python<'py>, throw: &core::Throw) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    fields.set_item("point_m", point(py, throw.point_m))?;
    fields.set_item("length_m", throw.length_m)?;
    fields.set_item("area", throw.area)?;
    Ok(fields)
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(pose, module)?)?;
    module.add_function(wrap_pyfunction!(throws, module)?)
}
