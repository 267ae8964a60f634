//! If the clutch slips before the hang is closed, what would close it?
//!
//! Each answer is a state of the hang in which the closing force is at most the force available:
//! another tilt (and how far one hoist goes up or down for it), the most cabinets that close at
//! once and the stages that close in turn, or the bottom landed with part of the weight. With G_j the gravity moment, E_j the chain's
//! lever, and a landing force P up through the bottom frame's centre of gravity at x_P:
//! T_j = (G_j − P (x_j − x_P))/E_j.

use super::closed::{ClosedState, closing_force};
use super::staged::{ClosingStages, closing_stages};
use crate::error::{InputError, Result, positive, within_range};
use crate::model::Hang;
use crate::pose::Hanging;
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;

/// Tilts farther away than this are not tried.
const FARTHEST_DEG: f64 = 30.0;
const TILT_STEP_DEG: f64 = 0.05;

/// Another tilt at which the hang closes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TiltRemedy {
    /// The tilt.
    pub tilt_deg: f64,
    /// The closing force there.
    pub closing_force_n: f64,
    /// How far the front pick goes up against the rear one; below zero it goes down.
    pub front_pick_up_m: f64,
}

/// Fewer cabinets, with the bottom frame under the last of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StageRemedy {
    /// Cabinets hung.
    pub cabinets: usize,
    /// Their closing force.
    pub closing_force_n: f64,
    /// Their chain length when closed.
    pub chain_closed_m: f64,
}

/// The bottom landed on a cart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LandingRemedy {
    /// Force that the cart carries.
    pub landed_n: f64,
    /// Its share of the weight below joint 0.
    pub landed_share: f64,
    /// The closing force then.
    pub closing_force_n: f64,
}

/// What would close the hang.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedies {
    /// Force available.
    pub available_n: f64,
    /// Closing force as it hangs, where there is one.
    pub closing_force_n: Option<f64>,
    /// The least change of tilt, if any within 30° does.
    pub tilt: Option<TiltRemedy>,
    /// Closing force of the first 2, 3, … cabinets, all of the hang last.
    pub stages: Vec<StageRemedy>,
    /// The most cabinets that close at once.
    pub most_cabinets: Option<usize>,
    /// Closing a few joints at a time, each stage with as many as the force closes.
    pub staged: ClosingStages,
    /// The least landing that closes it, if one lighter than the hang does.
    pub landing: Option<LandingRemedy>,
}

/// What closes a hang with `available_n` in the chain, from a frame held at its tilt. Joint 0 is
/// locked.
///
/// # Errors
/// `available_n` not above zero, or as [`crate::statics::closing::close`].
pub fn remedies(hanging: &Hanging<'_>, available_n: f64) -> Result<Remedies> {
    let Hanging { hang, tilt_deg, .. } = *hanging;
    within_range("tilt_deg", tilt_deg, -60.0, 60.0)?;
    positive("available_n", available_n)?;
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = Mechanism::new(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked)?;
    let closed = State::closed(&mechanism);
    let stages = stages(hang, tilt_deg)?;
    Ok(Remedies {
        available_n,
        closing_force_n: ClosedState::of(&mechanism, &closed).force_n(),
        tilt: tilt(hang, tilt_deg, available_n),
        most_cabinets: stages
            .iter()
            .take_while(|stage| stage.closing_force_n <= available_n)
            .map(|stage| stage.cabinets)
            .last(),
        stages,
        staged: closing_stages(hanging, available_n, None)?,
        landing: landing(&mechanism, &closed, available_n),
    })
}

fn tilt(hang: &Hang, tilt_deg: f64, available_n: f64) -> Option<TiltRemedy> {
    let force_at = |angle: f64| {
        closing_force(hang, &hang.splays_deg, angle)
            .map(|closing| closing.force_n)
            .filter(|&force| force <= available_n)
    };
    let steps = (FARTHEST_DEG / TILT_STEP_DEG) as i32;
    let (mut shut, side, step) = (0..=steps).find_map(|step| {
        let away = f64::from(step) * TILT_STEP_DEG;
        [1.0, -1.0]
            .into_iter()
            .find(|side| force_at(tilt_deg + side * away).is_some())
            .map(|side| (away, side, step))
    })?;
    let mut open = if step == 0 { 0.0 } else { shut - TILT_STEP_DEG };
    for _ in 0..50 {
        let middle = f64::midpoint(open, shut);
        if force_at(tilt_deg + side * middle).is_some() {
            shut = middle;
        } else {
            open = middle;
        }
    }
    let found_deg = tilt_deg + side * shut;
    let holes = &hang.frame.pick_x_m;
    let front = holes.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let rear = holes.iter().copied().fold(f64::INFINITY, f64::min);
    Some(TiltRemedy {
        tilt_deg: found_deg,
        closing_force_n: force_at(found_deg)?,
        front_pick_up_m: (front - rear)
            * (found_deg.to_radians().sin() - tilt_deg.to_radians().sin()),
    })
}

fn stages(hang: &Hang, tilt_deg: f64) -> Result<Vec<StageRemedy>> {
    let mut found = Vec::new();
    for cabinets in 2..=hang.cabinets.len() {
        let part = hang.first(cabinets);
        let mechanism = Mechanism::new(
            &part,
            &part.splays_deg,
            tilt_deg.to_radians(),
            TopJoint::Locked,
        )?;
        let closed = State::closed(&mechanism);
        if let Some(closing_force_n) = ClosedState::of(&mechanism, &closed).force_n() {
            found.push(StageRemedy {
                cabinets,
                closing_force_n,
                chain_closed_m: closed.chain_m,
            });
        }
    }
    Ok(found)
}

fn landing(mechanism: &Mechanism, closed: &State, available_n: f64) -> Option<LandingRemedy> {
    let last = mechanism.bodies.len() - 1;
    let landed_x = closed.point(last, mechanism.bodies[last].cg_m).x;
    let moments = |joint: usize| {
        let arm = closed.hinge_m(joint).x - landed_x;
        (closed.load_nm[joint], -closed.lever_m[joint], arm)
    };
    let moving: Vec<usize> = (0..mechanism.joints())
        .filter(|&joint| mechanism.closes(joint))
        .collect();
    let mut landed_n = 0.0_f64;
    for &joint in &moving {
        let (gravity, lever, arm) = moments(joint);
        let short = gravity - available_n * lever;
        if short > 0.0 {
            if arm <= 0.0 {
                return None;
            }
            landed_n = landed_n.max(short / arm);
        }
    }
    let weight_n = closed.below_kg[0] * mechanism.gravity_m_s2;
    if landed_n > weight_n {
        return None;
    }
    let closing_force_n = moving
        .iter()
        .map(|&joint| {
            let (gravity, lever, arm) = moments(joint);
            (gravity - landed_n * arm) / lever
        })
        .fold(0.0, f64::max);
    (closing_force_n <= available_n * (1.0 + 1e-9)).then_some(LandingRemedy {
        landed_n,
        landed_share: landed_n / weight_n,
        closing_force_n,
    })
}

/// The force given by hand, or else the lower edge of the clutch's band.
///
/// # Errors
/// No force given and no band stated.
pub fn available_n(hang: &Hang, given_n: Option<f64>) -> Result<f64> {
    given_n
        .or_else(|| {
            hang.gear
                .as_ref()
                .and_then(|gear| gear.clutch_n)
                .map(|[low, _]| low)
        })
        .ok_or_else(|| {
            InputError::new(
                "gear.clutch_n",
                "None",
                "the clutch's band, or a force given by hand",
            )
        })
}
