//! What eases a closing, and the bypass it is let off onto, at the Python face.

use super::arrays::{Array, degrees};
use super::closing::{StagesFields, staged_fields};
use super::model::Hang;
use crate::error::Result;
use crate::pose::Hanging;
use crate::statics::closing as core;
use pyo3::prelude::*;

#[derive(IntoPyObject)]
struct BypassFields {
    ended: &'static str,
    link: u32,
    slack_m: f64,
    force_n: f64,
    chain_m: f64,
    angle_deg: Array,
    opening_deg: Array,
}

#[pyfunction]
fn bypass(
    hang: &Hang,
    tilt_deg: f64,
    take_up_m: f64,
    stiffness_n_m: Option<f64>,
) -> Result<BypassFields> {
    let found = core::bypass(&Hanging::at(&hang.0, tilt_deg), take_up_m, stiffness_n_m)?;
    Ok(BypassFields {
        ended: found.end.name(),
        link: found.link,
        slack_m: found.slack_m,
        force_n: found.force_n,
        chain_m: found.chain_m,
        angle_deg: degrees(&found.angle_rad),
        opening_deg: degrees(&found.opening_rad),
    })
}

#[derive(IntoPyObject)]
struct TiltFields {
    tilt_deg: f64,
    closing_force_n: f64,
    front_pick_up_m: f64,
}

#[derive(IntoPyObject)]
struct RemedyStageFields {
    cabinets: usize,
    closing_force_n: f64,
    chain_closed_m: f64,
}

#[derive(IntoPyObject)]
struct LandingFields {
    landed_n: f64,
    landed_share: f64,
    closing_force_n: f64,
}

#[derive(IntoPyObject)]
struct RemediesFields {
    available_n: f64,
    closing_force_n: Option<f64>,
    most_cabinets: Option<usize>,
    tilt: Option<TiltFields>,
    stages: Vec<RemedyStageFields>,
    staged: StagesFields,
    landing: Option<LandingFields>,
}

#[pyfunction]
fn closing_remedies(
    py: Python<'_>,
    hang: &Hang,
    tilt_deg: f64,
    available_n: Option<f64>,
) -> Result<RemediesFields> {
    let hang = &hang.0;
    let found = py.detach(|| {
        let available_n = core::available_n(hang, available_n)?;
        core::remedies(&Hanging::at(hang, tilt_deg), available_n)
    })?;
    let stages = found.stages.iter().map(|stage| RemedyStageFields {
        cabinets: stage.cabinets,
        closing_force_n: stage.closing_force_n,
        chain_closed_m: stage.chain_closed_m,
    });
    Ok(RemediesFields {
        available_n: found.available_n,
        closing_force_n: found.closing_force_n,
        most_cabinets: found.most_cabinets,
        tilt: found.tilt.as_ref().map(|tilt| TiltFields {
            tilt_deg: tilt.tilt_deg,
            closing_force_n: tilt.closing_force_n,
            front_pick_up_m: tilt.front_pick_up_m,
        }),
        stages: stages.collect(),
        staged: staged_fields(&found.staged),
        landing: found.landing.as_ref().map(|landing| LandingFields {
            landed_n: landing.landed_n,
            landed_share: landing.landed_share,
            closing_force_n: landing.closing_force_n,
        }),
    })
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(bypass, module)?)?;
    module.add_function(wrap_pyfunction!(closing_remedies, module)?)
}
