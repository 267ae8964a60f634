//! `pose` at the Python face.

use super::arrays::{degrees, point, points, quads};
use super::error::or_raise;
use super::model::{Hang, Venue};
use crate::model::Blocking;
use crate::pose::{self as core, Placement};
use numpy::{PyArray1, PyReadonlyArray2};
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
#[pyo3(signature = (hang, tilt_deg, top_m, venue, position_m, pan_deg))]
fn throws<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    top_m: f64,
    venue: &Venue,
    position_m: (f64, f64),
    pan_deg: f64,
) -> PyResult<Vec<Option<Bound<'py, PyDict>>>> {
    let pose = or_raise(py, core::pose(&hang.0, tilt_deg, top_m))?;
    let placement = placed(position_m, pan_deg);
    let blocking = venue.0.blocking();
    core::throws(&pose, placement, &venue.0)
        .into_iter()
        .map(|throw| {
            let fields = throw.map(|throw| throw_fields(py, &throw, placement, &blocking));
            fields.transpose()
        })
        .collect()
}

/// A place on the floor plan and a pan as the face hands them over.
pub(super) fn placed((x_m, y_m): (f64, f64), pan_deg: f64) -> Placement {
    Placement {
        x_m,
        y_m,
        pan_rad: pan_deg.to_radians(),
    }
}

fn throw_fields<'py>(
    py: Python<'py>,
    throw: &core::Throw,
    placement: Placement,
    blocking: &Blocking,
) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    let (area, surface) = match throw.met {
        core::Met::Seats(area) => (Some(area), None),
        core::Met::Blocker(blocker) => (None, Some(&blocking.blockers[blocker].name)),
    };
    fields.set_item("point_m", point(py, placement.in_plane(throw.point_m)))?;
    fields.set_item("place_m", PyArray1::from_slice(py, &throw.point_m))?;
    fields.set_item("length_m", throw.length_m)?;
    fields.set_item("area", area)?;
    fields.set_item("surface", surface)?;
    Ok(fields)
}

/// The first floor or surface in the way of each line, −1 for none, and the share of it before.
#[pyfunction]
fn lines_of_sight<'py>(
    py: Python<'py>,
    venue: &Venue,
    from_m: PyReadonlyArray2<'py, f64>,
    to_m: PyReadonlyArray2<'py, f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let blocking = venue.0.blocking();
    let ends = from_m
        .as_slice()?
        .chunks_exact(3)
        .zip(to_m.as_slice()?.chunks_exact(3));
    let met = ends.map(|(from, to)| {
        blocking
            .first([from[0], from[1], from[2]], [to[0], to[1], to[2]])
            .map_or((-1, f64::INFINITY), |met| (met.blocker as i64, met.share))
    });
    let (surface, share): (Vec<i64>, Vec<f64>) = met.unzip();
    let names = blocking.blockers.iter().map(|blocker| &blocker.name);
    let fields = PyDict::new(py);
    fields.set_item("surface", PyArray1::from_vec(py, surface))?;
    fields.set_item("share", PyArray1::from_vec(py, share))?;
    fields.set_item("names", names.collect::<Vec<_>>())?;
    Ok(fields)
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(pose, module)?)?;
    module.add_function(wrap_pyfunction!(lines_of_sight, module)?)?;
    module.add_function(wrap_pyfunction!(throws, module)?)
}
