//! After closing: the lever hoist is let off onto a chain of whole links. Which link takes it, what
//! does it carry, and how far do the joints open?
//!
//! The chain takes the first link k with k p ≥ L_closed. Let off, the hang opens until the bypass
//! chain is taut: L(θ) = k p + take-up + T/stiffness, with T(L) of the closing path.

use crate::equilibrium::Hold;
use crate::equilibrium::minimum::RestEnd;
use crate::error::{Result, non_negative, positive, within_range};
use crate::pose::Hanging;
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use crate::statics::closing::solver::contact::PathEnd;
use crate::statics::closing::solver::path::{Path, follow};
use crate::statics::rest::settled;

/// How letting off onto the bypass chain ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BypassEnd {
    /// The bypass chain carries the hang.
    Carries,
    /// The hang opens all the way and the chain stays slack.
    StaysSlack,
    /// The whole chain is shorter than the closed hang.
    ChainTooShort,
    /// The hang does not close, so there is nothing to let off.
    NotClosed,
    /// The hang let off was not found at rest.
    NoRest,
}

impl BypassEnd {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Carries => "carries",
            Self::StaysSlack => "stays slack",
            Self::ChainTooShort => "chain too short",
            Self::NotClosed => "not closed",
            Self::NoRest => "no rest found",
        }
    }
}

/// The hang on its bypass chain.
#[derive(Clone, Debug)]
pub struct Bypass {
    /// How it ends.
    pub end: BypassEnd,
    /// Links in the load path.
    pub link: u32,
    /// Length the chain has over when the hang is closed.
    pub slack_m: f64,
    /// Chain force once let off.
    pub force_n: f64,
    /// Chain length once let off.
    pub chain_m: f64,
    /// Joint angles once let off.
    pub angle_rad: Vec<f64>,
    /// How far each joint has come off its stop.
    pub opening_rad: Vec<f64>,
}

/// Lets the closed hang off onto a bypass chain of the gear's links, frame held at its tilt.
/// `stiffness_n_m` of `None` is a chain that does not stretch.
///
/// # Errors
/// No closing gear, take-up below zero, stiffness not above zero, or as [`crate::statics::closing::close`].
pub fn bypass(hanging: &Hanging<'_>, take_up_m: f64, stiffness_n_m: Option<f64>) -> Result<Bypass> {
    let Hanging { hang, tilt_deg, .. } = *hanging;
    within_range("tilt_deg", tilt_deg, -90.0, 90.0)?;
    non_negative("take_up_m", take_up_m)?;
    let stretch_m_n = match stiffness_n_m {
        Some(stiffness) => 1.0 / positive("stiffness_n_m", stiffness)?,
        None => 0.0,
    };
    let gear = hang.require_gear()?;
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = Mechanism::new(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked)?;
    let closed = State::closed(&mechanism);
    let link = (closed.chain_m / gear.pitch_m - 1e-9).ceil().max(1.0);
    let path = follow(&mechanism, 400, &mut |_, _| ());
    let end = if path.end != PathEnd::Closed {
        BypassEnd::NotClosed
    } else if link > f64::from(gear.links) {
        BypassEnd::ChainTooShort
    } else {
        BypassEnd::Carries
    };
    let slack_m = link * gear.pitch_m - closed.chain_m;
    let (state, force_n, end) = match end {
        BypassEnd::Carries => {
            let length_m = link * gear.pitch_m + take_up_m;
            let excess = |chain_m: f64, force_n: f64| chain_m - length_m - stretch_m_n * force_n;
            let (state, force_n, rest) = let_off(&mechanism, &path, excess);
            let end = match rest {
                RestEnd::AtRest if force_n > 0.0 => BypassEnd::Carries,
                RestEnd::AtRest => BypassEnd::StaysSlack,
                _ => BypassEnd::NoRest,
            };
            (state, force_n, end)
        }
        _ => (closed.clone(), 0.0, end),
    };
    Ok(Bypass {
        end,
        link: link.min(f64::from(u32::MAX)) as u32,
        slack_m,
        force_n,
        chain_m: state.chain_m,
        opening_rad: mechanism
            .travels
            .iter()
            .zip(&state.angle_rad)
            .map(|(travel, angle)| travel.stop_rad - angle)
            .collect(),
        angle_rad: state.angle_rad,
    })
}

/// The state of the path, from its closed end on, where `excess` comes up to zero.
fn let_off(
    mechanism: &Mechanism,
    path: &Path,
    excess: impl Fn(f64, f64) -> f64,
) -> (State, f64, RestEnd) {
    let joints = mechanism.joints();
    let row = |index: usize| &path.angle_rad[index * joints..(index + 1) * joints];
    let Some(open) = (0..path.chain_m.len())
        .rev()
        .find(|&index| excess(path.chain_m[index], path.force_n[index]) >= 0.0)
    else {
        return (State::at(mechanism, row(0)), 0.0, RestEnd::AtRest);
    };
    let shut = (open + 1).min(path.chain_m.len() - 1);
    let state = State::at(mechanism, row(open));
    // A step straight up in force at one length is crossed where the force fits.
    if path.chain_m[open] - path.chain_m[shut] < 1e-12 {
        let (low, high) = (
            excess(path.chain_m[shut], path.force_n[shut]),
            excess(path.chain_m[open], path.force_n[open]),
        );
        let share = if high > low { high / (high - low) } else { 0.0 };
        let force = path.force_n[open] + share * (path.force_n[shut] - path.force_n[open]);
        return (state, force, RestEnd::AtRest);
    }
    let (mut long, mut short) = (path.chain_m[open], path.chain_m[shut]);
    let mut best = (state.clone(), path.force_n[open], RestEnd::AtRest);
    for _ in 0..60 {
        let middle = f64::midpoint(long, short);
        let rested = settled(
            mechanism,
            state.clone(),
            path.force_n[open],
            Hold::Length(middle),
        );
        if excess(middle, rested.force_n) >= 0.0 {
            long = middle;
        } else {
            short = middle;
        }
        best = (rested.state, rested.force_n, rested.end);
        if long - short < 1e-13 {
            break;
        }
    }
    best
}
