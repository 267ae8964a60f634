//! The hang built up from carts, at the Python face.

use super::arrays::{Array, degrees};
use super::model::Hang;
use crate::error::Result;
use crate::statics::buildup;
use pyo3::prelude::*;

#[derive(IntoPyObject)]
struct BuildStageFields {
    cabinets: usize,
    ended: &'static str,
    closed: bool,
    mass_kg: f64,
    tilt_deg: f64,
    hoist_load_n: Array,
    angle_deg: Array,
    lowest_m: f64,
    lift_m: Option<f64>,
}

#[derive(IntoPyObject)]
struct BuildUpFields {
    stages: Vec<BuildStageFields>,
    worst_load_n: f64,
    worst_stage: usize,
}

#[pyfunction]
fn build_up(
    hang: &Hang,
    stack: usize,
    cart_m: f64,
    pick_x_m: Vec<f64>,
    tilt_deg: Option<f64>,
) -> Result<BuildUpFields> {
    let how = buildup::BuildUp {
        stack,
        cart_m,
        pick_x_m,
        tilt_deg,
    };
    let found = buildup::build_up(&hang.0, &how)?;
    let stages = found.stages.iter().map(|stage| BuildStageFields {
        cabinets: stage.cabinets,
        ended: stage.end.name(),
        closed: stage.closed,
        mass_kg: stage.mass_kg,
        tilt_deg: stage.tilt_rad.to_degrees(),
        hoist_load_n: stage.hoist_load_n.as_slice().into(),
        angle_deg: degrees(&stage.angle_rad),
        lowest_m: stage.lowest_m,
        lift_m: stage.lift_m,
    });
    Ok(BuildUpFields {
        stages: stages.collect(),
        worst_load_n: found.worst_load_n,
        worst_stage: found.worst_stage,
    })
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(build_up, module)?)
}
