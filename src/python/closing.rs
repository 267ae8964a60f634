//! Closing and shortening at the Python face.

use super::arrays::{Array, degrees, points, table};
use super::model::Hang;
use super::statics::{LimitFields, limit_rows};
use crate::error::{InputError, Result};
use crate::pose::{Hanging, TopJoint};
use crate::statics::closing::{
    self as core, Closing, ClosingOptions, ClosingPath, ClosingStage, ClosingStages, FrameHold,
    HingeFriction, JointForces, LinkChoice, Shortening,
};
use pyo3::prelude::*;

fn top_joint(name: &str) -> Result<TopJoint> {
    match name {
        "locked" => Ok(TopJoint::Locked),
        "stop" => Ok(TopJoint::Stop),
        _ => Err(InputError::new("top_joint", name, "\"locked\" or \"stop\"")),
    }
}

fn frame_hold(name: &str) -> Result<FrameHold> {
    match name {
        "held" => Ok(FrameHold::Held),
        "one pick" => Ok(FrameHold::OnePick),
        "two hoists" => Ok(FrameHold::TwoHoists),
        _ => Err(InputError::new(
            "frame",
            name,
            "\"held\", \"one pick\" or \"two hoists\"",
        )),
    }
}

#[derive(IntoPyObject)]
struct PathFields {
    chain_m: Array,
    force_n: Array,
    energy_j: Array,
    tilt_deg: Array,
    angle_deg: Array,
    contact_moment_nm: Array,
    stop_force_n: Array,
    hinge_force_n: Array,
    hoist_load_n: Array,
}

fn path_fields(path: &ClosingPath) -> PathFields {
    let (rows, joints) = (path.angle_rad.len(), path.angle_rad[0].len());
    let of_joints = |part: fn(&JointForces) -> &Vec<f64>| {
        table(&path.joints.iter().map(part).collect::<Vec<_>>(), joints)
    };
    let angles = path.angle_rad.iter().flatten();
    let hinges = path.joints.iter().flat_map(|row| &row.hinge_force_n);
    let hinges = hinges.flat_map(|force| [force.x, force.y]);
    let hoists = path.hoist_load_n.first().map_or(0, Vec::len);
    PathFields {
        chain_m: path.chain_m.as_slice().into(),
        force_n: path.force_n.as_slice().into(),
        energy_j: path.energy_j.as_slice().into(),
        tilt_deg: degrees(&path.tilt_rad),
        angle_deg: Array::shaped(angles.map(|a| a.to_degrees()).collect(), &[rows, joints]),
        contact_moment_nm: of_joints(|joints| &joints.contact_moment_nm),
        stop_force_n: of_joints(|joints| &joints.stop_force_n),
        hinge_force_n: Array::shaped(hinges.collect(), &[rows, joints, 2]),
        hoist_load_n: table(&path.hoist_load_n, hoists),
    }
}

#[derive(IntoPyObject)]
struct JointForcesFields {
    contact_moment_nm: Array,
    stop_force_n: Array,
    hinge_force_n: Array,
}

fn joint_fields(forces: &JointForces) -> JointForcesFields {
    JointForcesFields {
        contact_moment_nm: forces.contact_moment_nm.as_slice().into(),
        stop_force_n: forces.stop_force_n.as_slice().into(),
        hinge_force_n: points(&forces.hinge_force_n),
    }
}

#[derive(IntoPyObject)]
struct EventFields {
    joint: usize,
    contact: &'static str,
    chain_m: f64,
    force_n: f64,
    in_snap: bool,
}

#[derive(IntoPyObject)]
struct SnapFields {
    chain_m: f64,
    force_before_n: f64,
    force_after_n: f64,
    greatest_turn_deg: f64,
    energy_j: f64,
}

#[derive(IntoPyObject)]
struct ClosingFields {
    ended: &'static str,
    residual: f64,
    slack_hoist: &'static str,
    closing_force_n: Option<f64>,
    holding_force_n: Option<f64>,
    pulling_force_n: Option<f64>,
    pulling_joint: Option<usize>,
    most_force_n: Option<f64>,
    peak_force_n: f64,
    straight_line_force_n: Array,
    governing_joint: Option<usize>,
    order: Vec<usize>,
    chain_free_m: f64,
    chain_straight_m: f64,
    chain_closed_m: f64,
    free_angle_deg: Array,
    stop_force_n: Option<Array>,
    top_link_n: Option<f64>,
    at_closing: Option<JointForcesFields>,
    at_preload: Option<JointForcesFields>,
    events: Vec<EventFields>,
    snaps: Vec<SnapFields>,
    path: PathFields,
    clutch: &'static str,
    limits: Vec<LimitFields>,
}

fn closing_fields(closing: &Closing) -> ClosingFields {
    let band = closing.friction_band;
    let at_closing = closing.at_closing.as_ref();
    let events = closing.events.iter().map(|event| EventFields {
        joint: event.joint,
        contact: event.contact.name(),
        chain_m: event.chain_m,
        force_n: event.force_n,
        in_snap: event.in_snap,
    });
    let snaps = closing.snaps.iter().map(|snap| SnapFields {
        chain_m: snap.chain_m,
        force_before_n: snap.force_before_n,
        force_after_n: snap.force_after_n,
        greatest_turn_deg: snap.greatest_turn_rad.to_degrees(),
        energy_j: snap.energy_j,
    });
    ClosingFields {
        ended: closing.end.name(),
        residual: closing.residual,
        slack_hoist: closing.slack.name(),
        closing_force_n: closing.closing_force_n(),
        holding_force_n: band.map(|band| band.holding_n),
        pulling_force_n: band.and_then(|band| band.pulling_n),
        pulling_joint: band.and_then(|band| band.joint),
        most_force_n: closing.closed.most_n(),
        peak_force_n: closing.peak_force_n,
        straight_line_force_n: closing.straight_line_force_n.as_slice().into(),
        governing_joint: closing.governing_joint(),
        order: closing.order.clone(),
        chain_free_m: closing.chain_free_m,
        chain_straight_m: closing.chain_straight_m,
        chain_closed_m: closing.chain_closed_m,
        free_angle_deg: degrees(&closing.free_angle_rad),
        stop_force_n: at_closing.map(|forces| forces.stop_force_n.as_slice().into()),
        top_link_n: at_closing.map(|forces| -forces.stop_force_n[0]),
        at_closing: at_closing.map(joint_fields),
        at_preload: closing.at_preload.as_ref().map(joint_fields),
        events: events.collect(),
        snaps: snaps.collect(),
        path: path_fields(&closing.path),
        clutch: closing.clutch.name(),
        limits: limit_rows(&closing.limits),
    }
}

#[pyfunction]
#[expect(
    clippy::too_many_arguments,
    reason = "the arguments of the Python function"
)]
fn close(
    py: Python<'_>,
    hang: &Hang,
    tilt_deg: f64,
    top_joint_name: &str,
    preload_n: f64,
    steps: usize,
    frame: &str,
    pick_x_m: Option<Vec<f64>>,
    dynamic_factor: f64,
    friction: f64,
    pin_radius_m: f64,
) -> Result<ClosingFields> {
    let options = ClosingOptions {
        top_joint: top_joint(top_joint_name)?,
        preload_n,
        steps,
        frame: frame_hold(frame)?,
        dynamic_factor,
        friction: HingeFriction {
            coefficient: friction,
            pin_radius_m,
        },
    };
    let picks = pick_x_m.unwrap_or_default();
    let hanging = Hanging::at(&hang.0, tilt_deg).on(&picks);
    let closing = py.detach(|| core::close(&hanging, &options));
    Ok(closing_fields(&closing?))
}

#[derive(IntoPyObject)]
struct RestFields {
    ended: &'static str,
    residual: f64,
    angle_deg: Array,
    chain_m: f64,
    contact_moment_nm: Array,
    stop_force_n: Array,
    hinge_force_n: Array,
}

#[pyfunction]
fn rest_at_force(
    hang: &Hang,
    tilt_deg: f64,
    force_n: f64,
    top_joint_name: &str,
) -> Result<RestFields> {
    let top_joint = top_joint(top_joint_name)?;
    let rest = core::rest_at_force(&Hanging::at(&hang.0, tilt_deg), force_n, top_joint)?;
    let joints = joint_fields(&rest.joints);
    Ok(RestFields {
        ended: rest.end.name(),
        residual: rest.residual,
        angle_deg: degrees(&rest.angle_rad),
        chain_m: rest.chain_m,
        contact_moment_nm: joints.contact_moment_nm,
        stop_force_n: joints.stop_force_n,
        hinge_force_n: joints.hinge_force_n,
    })
}

#[derive(IntoPyObject)]
struct LinkFields {
    link: u32,
    hoist_open_m: f64,
    hoist_closed_m: f64,
    spare_open_m: f64,
    spare_closed_m: f64,
    slack_links: u32,
}

impl From<&LinkChoice> for LinkFields {
    fn from(choice: &LinkChoice) -> Self {
        Self {
            link: choice.link,
            hoist_open_m: choice.hoist_open_m,
            hoist_closed_m: choice.hoist_closed_m,
            spare_open_m: choice.spare_open_m,
            spare_closed_m: choice.spare_closed_m,
            slack_links: choice.slack_links,
        }
    }
}

#[derive(IntoPyObject)]
struct ShorteningFields {
    ended: &'static str,
    links_feasible: Array<i64>,
    link: Option<u32>,
    hoist_open_m: Option<f64>,
    hoist_closed_m: Option<f64>,
    spare_open_m: Option<f64>,
    spare_closed_m: Option<f64>,
    slack_links: Option<u32>,
    chain_free_m: f64,
    chain_closed_m: f64,
    neighbours: Vec<LinkFields>,
}

fn shortening_fields(found: &Shortening) -> ShorteningFields {
    let links = found.feasible.iter().map(|choice| i64::from(choice.link));
    let links: Vec<i64> = links.collect();
    let best = found.best;
    ShorteningFields {
        ended: found.end.name(),
        links_feasible: links.into(),
        link: best.map(|best| best.link),
        hoist_open_m: best.map(|best| best.hoist_open_m),
        hoist_closed_m: best.map(|best| best.hoist_closed_m),
        spare_open_m: best.map(|best| best.spare_open_m),
        spare_closed_m: best.map(|best| best.spare_closed_m),
        slack_links: best.map(|best| best.slack_links),
        chain_free_m: found.chain_free_m,
        chain_closed_m: found.chain_closed_m,
        neighbours: found.neighbours.iter().map(LinkFields::from).collect(),
    }
}

#[pyfunction]
fn shortening(hang: &Hang, tilt_deg: f64) -> Result<ShorteningFields> {
    Ok(shortening_fields(&core::shortening(&Hanging::at(
        &hang.0, tilt_deg,
    ))?))
}

#[derive(IntoPyObject)]
struct StageFields {
    cabinets: usize,
    joints: Vec<usize>,
    ended: &'static str,
    open_angle_deg: Array,
    chain_open_m: f64,
    chain_closed_m: f64,
    shortening: Option<ShorteningFields>,
    closing_force_n: Option<f64>,
    governing_joint: Option<usize>,
    peak_force_n: Option<f64>,
    left_on_open_n: Option<f64>,
    left_on_peak_n: Option<f64>,
    left_on_closed_n: Option<f64>,
    open_again: Vec<usize>,
    alone_force_n: Option<f64>,
}

impl From<&ClosingStage> for StageFields {
    fn from(stage: &ClosingStage) -> Self {
        Self {
            cabinets: stage.cabinets,
            joints: stage.joints.clone(),
            ended: stage.end.name(),
            open_angle_deg: degrees(&stage.open_angle_rad),
            chain_open_m: stage.chain_open_m,
            chain_closed_m: stage.chain_closed_m,
            shortening: stage.shortening.as_ref().map(shortening_fields),
            closing_force_n: stage.closing_force_n,
            governing_joint: stage.joint,
            peak_force_n: stage.peak_force_n,
            left_on_open_n: stage.left_on_open_n,
            left_on_peak_n: stage.left_on_peak_n,
            left_on_closed_n: stage.left_on_closed_n,
            open_again: stage.open_again.clone(),
            alone_force_n: stage.alone_force_n,
        }
    }
}

#[derive(IntoPyObject)]
pub(super) struct StagesFields {
    available_n: f64,
    stages: Vec<StageFields>,
}

pub(super) fn staged_fields(found: &ClosingStages) -> StagesFields {
    StagesFields {
        available_n: found.available_n,
        stages: found.stages.iter().map(StageFields::from).collect(),
    }
}

#[pyfunction]
fn closing_stages(
    py: Python<'_>,
    hang: &Hang,
    tilt_deg: f64,
    available_n: Option<f64>,
    cabinets: Option<Vec<usize>>,
) -> Result<StagesFields> {
    let hang = &hang.0;
    let found = py.detach(|| {
        let available_n = core::available_n(hang, available_n)?;
        core::closing_stages(
            &Hanging::at(hang, tilt_deg),
            available_n,
            cabinets.as_deref(),
        )
    });
    Ok(staged_fields(&found?))
}

#[derive(IntoPyObject)]
struct SensitivitiesFields {
    inputs: Vec<String>,
    closing_force_n: Array,
    hoist_load_n: Array,
}

#[pyfunction]
fn closing_sensitivities(
    hang: &Hang,
    tilt_deg: f64,
    pick_x_m: Option<Vec<f64>>,
) -> Result<SensitivitiesFields> {
    let picks = pick_x_m.unwrap_or_default();
    let found = core::sensitivities(&Hanging::at(&hang.0, tilt_deg).on(&picks))?;
    let forces: Vec<f64> = found.iter().map(|row| row.closing_force_n).collect();
    let loads: Vec<_> = found.iter().map(|row| row.hoist_load_n).collect();
    Ok(SensitivitiesFields {
        inputs: found.into_iter().map(|row| row.input).collect(),
        closing_force_n: forces.into(),
        hoist_load_n: table(&loads, 2),
    })
}

#[derive(IntoPyObject)]
struct SpreadFields {
    closing_force_n: Array,
    hoist_load_n: Array,
}

#[pyfunction]
fn closing_spread(
    py: Python<'_>,
    hang: &Hang,
    tilt_deg: f64,
    pick_x_m: Option<Vec<f64>>,
    spreads: [f64; 5],
    cases: usize,
    seed: u64,
) -> PyResult<SpreadFields> {
    let [mass, cg_m, anchor_m, splay_deg, tilt_spread_deg] = spreads;
    let spread = core::Spread {
        mass,
        cg_m,
        anchor_m,
        splay_deg,
        tilt_deg: tilt_spread_deg,
    };
    let hang = &hang.0;
    let picks = pick_x_m.unwrap_or_default();
    let mut stopped = Ok(());
    let found = py.detach(|| {
        core::spread(
            &Hanging::at(hang, tilt_deg).on(&picks),
            &spread,
            cases,
            seed,
            |_| {
                stopped = Python::attach(|py| py.check_signals());
                stopped.is_ok()
            },
        )
    })?;
    stopped?;
    let (forces, loads) = found.map_or_else(Default::default, |found| {
        (found.closing_force_n, found.hoist_load_n)
    });
    let forces: Vec<f64> = forces
        .iter()
        .map(|force| force.unwrap_or(f64::NAN))
        .collect();
    Ok(SpreadFields {
        closing_force_n: forces.into(),
        hoist_load_n: table(&loads, 2),
    })
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(close, module)?)?;
    module.add_function(wrap_pyfunction!(rest_at_force, module)?)?;
    module.add_function(wrap_pyfunction!(closing_sensitivities, module)?)?;
    module.add_function(wrap_pyfunction!(closing_spread, module)?)?;
    module.add_function(wrap_pyfunction!(closing_stages, module)?)?;
    module.add_function(wrap_pyfunction!(shortening, module)?)
}
