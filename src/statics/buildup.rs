//! What does each stage of building the hang ask for?
//!
//! Cabinets arrive in stacks. Each stage is a hang of its own: the fly frame with the cabinets hung
//! so far, joints pinned (tension) or open to where gravity takes them (compression, no chain yet),
//! on one pick where it turns plumb, or on two at a held tilt. The last stage has the bottom frame,
//! and a compression hang one more when it is closed. The next stack of height h on a cart of height
//! c goes under when the lowest point stands at c + h. Taking down goes the same way back.

use super::closing::answers::support::{FrameHold, Support};
use super::rest::free_hang;
use crate::equilibrium::minimum::RestEnd;
use crate::error::{InputError, Result, accept, finite, non_negative, within_range};
use crate::model::{Hang, Rigging, Valid};
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::place;
use crate::pose::state::State;
use std::f64::consts::FRAC_PI_2;

/// How the hang is built.
#[derive(Clone, Debug, PartialEq)]
pub struct BuildUp {
    /// Cabinets a stack; the last stack has what is left.
    pub stack: usize,
    /// Height of the cart's deck.
    pub cart_m: f64,
    /// One pick, or two with the front one first.
    pub pick_x_m: Vec<f64>,
    /// Tilt at which two hoists hold the frame.
    pub tilt_deg: Option<f64>,
}

/// One stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Cabinets hung.
    pub cabinets: usize,
    /// How its rest was found.
    pub end: RestEnd,
    /// Whether the joints are closed to their pins.
    pub closed: bool,
    /// Mass of everything hung.
    pub mass_kg: f64,
    /// Elevation of the fly frame's axis.
    pub tilt_rad: f64,
    /// Load of each hoist, front first; below zero it would have to push.
    pub hoist_load_n: Vec<f64>,
    /// Angles between the cabinets hung.
    pub angle_rad: Vec<f64>,
    /// Height of the lowest point against the first pick; negative is below.
    pub lowest_m: f64,
    /// Height at which the lowest point has to stand before the next stack goes under.
    pub lift_m: Option<f64>,
}

/// All stages, building up.
#[derive(Clone, Debug, PartialEq)]
pub struct Stages {
    /// In order of building; taking down is the reverse.
    pub stages: Vec<Stage>,
    /// The greatest load of one hoist in any stage.
    pub worst_load_n: f64,
    /// The stage that has it.
    pub worst_stage: usize,
}

/// The stages of building `hang` up.
///
/// # Errors
/// No cabinets per stack, a cart below the floor, picks that are not one or two, a tilt that is missing
/// with two picks or given with one.
pub fn build_up(hang: &Valid<Hang>, how: &BuildUp) -> Result<Stages> {
    accept(how.stack > 0, "stack", how.stack, "at least one cabinet")?;
    non_negative("cart_m", how.cart_m)?;
    crate::error::each("pick_x_m", &how.pick_x_m, finite)?;
    let tilt_deg = match (&how.pick_x_m[..], how.tilt_deg) {
        ([_], None) => 0.0,
        ([_], Some(tilt)) => {
            return Err(InputError::new(
                "tilt_deg",
                tilt,
                "None; on one pick the tilt follows from the balance",
            ));
        }
        (_, Some(tilt)) => within_range("tilt_deg", tilt, -90.0, 90.0)?,
        (_, None) => {
            return Err(InputError::new(
                "tilt_deg",
                "None",
                "the tilt at which two hoists hold the frame",
            ));
        }
    };
    let mut stages = open_stages(hang, how, tilt_deg)?;
    if hang.rigging == Rigging::Compression {
        stages.push(rest(hang, how, tilt_deg, true)?);
    }
    let mut worst = (f64::NEG_INFINITY, 0);
    for (index, stage) in stages.iter().enumerate() {
        let load = stage.hoist_load_n.iter().copied().fold(0.0, f64::max);
        if load > worst.0 {
            worst = (load, index);
        }
    }
    Ok(Stages {
        stages,
        worst_load_n: worst.0,
        worst_stage: worst.1,
    })
}

/// The stages before the rear closes: all there are of a tension hang.
///
/// # Errors
/// Picks that hold no frame.
pub(crate) fn open_stages(hang: &Hang, how: &BuildUp, tilt_deg: f64) -> Result<Vec<Stage>> {
    let total = hang.cabinets.len();
    let mut stages = Vec::new();
    let mut hung = 0;
    while hung < total {
        hung = (hung + how.stack).min(total);
        let mut part = hang.first(hung);
        if hung < total {
            part.bottom = None;
        }
        let mut stage = rest(&part, how, tilt_deg, part.rigging == Rigging::Tension)?;
        let next = &hang.cabinets[hung..total.min(hung + how.stack)];
        let stack_m: f64 = next.iter().map(|cabinet| cabinet.height_m).sum();
        stage.lift_m = (hung < total).then_some(how.cart_m + stack_m);
        stages.push(stage);
    }
    Ok(stages)
}

fn rest(part: &Hang, how: &BuildUp, tilt_deg: f64, closed: bool) -> Result<Stage> {
    let tilt_rad = tilt_deg.to_radians();
    let one_pick = how.pick_x_m.len() == 1;
    let hold = if one_pick {
        FrameHold::OnePick
    } else {
        FrameHold::Held
    };
    let support = Support::new(part, hold, tilt_rad, &how.pick_x_m)?;
    let held = Mechanism::of(part, &part.splays_deg, tilt_rad, TopJoint::Locked);
    let mechanism = if one_pick {
        held.on_hook(support.points_m()[0], [-FRAC_PI_2, FRAC_PI_2])
    } else {
        held
    };
    let (state, end) = if closed {
        let state = State::closed(&mechanism);
        (state, RestEnd::AtRest)
    } else {
        let free = free_hang(&mechanism);
        (free.state, free.end)
    };
    let tilt_rad = support.tilt_of(&mechanism, &state.angle_rad);
    let first = mechanism.hooks + 1;
    let angle_rad = state.angle_rad[first..first + part.splays_deg.len()].to_vec();
    let angle_deg: Vec<f64> = angle_rad.iter().map(|angle| angle.to_degrees()).collect();
    let pose = place(part, &angle_deg, tilt_rad.to_degrees(), 0.0);
    let pick = nalgebra::Rotation2::new(tilt_rad) * support.points_m()[0];
    Ok(Stage {
        cabinets: part.cabinets.len(),
        end,
        closed,
        mass_kg: pose.mass_kg,
        tilt_rad,
        hoist_load_n: support.loads_n(&mechanism, &state),
        angle_rad,
        lowest_m: pose.trim_m - pick.y,
        lift_m: None,
    })
}
