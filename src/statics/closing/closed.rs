//! What holds the hang closed: the chain force at which every joint presses on its stop.
//!
//! Joint j presses when ∂U/∂θ_j + T ∂L/∂θ_j ≤ 0. With lever −∂L/∂θ_j > 0 that asks for at least
//! T_j = (∂U/∂θ_j)/(−∂L/∂θ_j); with a lever below zero the chain opens the joint and T_j is the
//! most it may carry.

use super::clutch::Greatest;
use super::mechanism::{Mechanism, TopJoint};
use super::state::State;
use crate::error::Result;
use crate::model::Hang;
use crate::statics::limits::LimitTable;

/// A lever shorter than this, or a moment below this share of a newton metre, counts as none.
const NOTHING: f64 = 1e-12;

/// Whether a chain force holds every joint on its stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ClosedState {
    /// From this force on, up to `most_n` if there is an upper bound.
    Closes {
        /// The closing force; 0 where gravity holds the hang closed.
        force_n: f64,
        /// The joint that asks for it; `None` where gravity holds them all.
        joint: Option<usize>,
        /// The force at which the chain opens a joint again.
        most_n: Option<f64>,
    },
    /// Gravity opens this joint and the chain has no lever that closes it.
    NoLever {
        /// The joint.
        joint: usize,
    },
    /// The force that one joint asks for opens another.
    OpensAnother {
        /// The joint that asks for most.
        joint: usize,
        /// The joint that the chain opens before.
        opened: usize,
    },
}

impl ClosedState {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Self::Closes { joint: None, .. } => "held closed by gravity",
            Self::Closes { .. } => "held closed by the chain",
            Self::NoLever { .. } => "the chain has no lever on a joint",
            Self::OpensAnother { .. } => "the chain opens another joint",
        }
    }

    /// The closing force, where there is one.
    #[must_use]
    pub fn force_n(&self) -> Option<f64> {
        match self {
            Self::Closes { force_n, .. } => Some(*force_n),
            _ => None,
        }
    }

    /// The joint that asks for most, or that the chain does not close.
    #[must_use]
    pub fn governing_joint(&self) -> Option<usize> {
        match *self {
            Self::Closes { joint, .. } => joint,
            Self::NoLever { joint } | Self::OpensAnother { joint, .. } => Some(joint),
        }
    }

    /// The force at which the chain opens a joint again, where there is one.
    #[must_use]
    pub fn most_n(&self) -> Option<f64> {
        match self {
            Self::Closes { most_n, .. } => *most_n,
            _ => None,
        }
    }

    pub(crate) fn of(mechanism: &Mechanism, closed: &State) -> Self {
        let joints = mechanism.hooks..mechanism.joints();
        Self::holding(
            joints
                .filter(|&place| mechanism.closes(place))
                .map(|place| {
                    let joint = place - mechanism.hooks;
                    (joint, closed.load_nm[place], -closed.lever_m[place])
                }),
        )
    }

    /// For joints with the moment that opens each, and the chain's lever that closes it.
    pub(crate) fn holding(joints: impl Iterator<Item = (usize, f64, f64)>) -> Self {
        let mut least = (0.0, None);
        let mut most: (f64, Option<usize>) = (f64::INFINITY, None);
        for (joint, gravity, lever) in joints {
            if lever > NOTHING {
                if gravity / lever > least.0 {
                    least = (gravity / lever, Some(joint));
                }
            } else if gravity > NOTHING {
                return Self::NoLever { joint };
            } else if lever < -NOTHING && gravity / lever < most.0 {
                most = (gravity / lever, Some(joint));
            }
        }
        match (least, most) {
            ((asked, Some(joint)), (allowed, Some(opened))) if asked > allowed => {
                Self::OpensAnother { joint, opened }
            }
            _ => Self::Closes {
                force_n: least.0,
                joint: least.1,
                most_n: most.1.map(|_| most.0),
            },
        }
    }
}

/// The chain force that holds a hang closed, and the joint that asks for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClosingForce {
    /// The force.
    pub force_n: f64,
    /// The governing joint; `None` where gravity alone closes the hang.
    pub joint: Option<usize>,
}

/// The closing force of `hang` with any splays, without its path: quick enough for a search.
/// `None` where the hang has no chain, or no chain force closes it. `splays_deg` has one angle
/// fewer than there are cabinets; joint 0 is locked.
#[must_use]
pub fn closing_force(hang: &Hang, splays_deg: &[f64], tilt_deg: f64) -> Option<ClosingForce> {
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = Mechanism::new(hang, splays_deg, tilt_rad, TopJoint::Locked).ok()?;
    let closed = State::at(&mechanism, &mechanism.closed_rad());
    match ClosedState::of(&mechanism, &closed) {
        ClosedState::Closes { force_n, joint, .. } => Some(ClosingForce { force_n, joint }),
        _ => None,
    }
}

/// Adds the forces of the closed hang to `table`, at its closing force and with the slip clutch at
/// its upper edge, without the path: quick enough for a search. `splays_deg` has one angle fewer
/// than there are cabinets; joint 0 is locked.
///
/// # Errors
/// Not a compression hang, or no bottom frame or chain anchor.
pub fn add_closed_limits(
    table: &mut LimitTable,
    hang: &Hang,
    splays_deg: &[f64],
    tilt_deg: f64,
) -> Result<ClosedState> {
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = Mechanism::new(hang, splays_deg, tilt_rad, TopJoint::Locked)?;
    let closed = State::at(&mechanism, &mechanism.closed_rad());
    let state = ClosedState::of(&mechanism, &closed);
    if let Some(force_n) = state.force_n() {
        let clutch_n = hang.gear.as_ref().and_then(|gear| gear.clutch_n);
        let cases = [
            (Some(force_n), "closed, at the closing force"),
            (
                clutch_n
                    .map(|[_, high]| high)
                    .filter(|&high| high >= force_n),
                "closed, clutch at its upper edge",
            ),
        ];
        for (chain_n, case) in cases {
            if let Some(chain_n) = chain_n {
                let mut forces = Greatest::default();
                forces.include(chain_n, &closed.joint_forces(&mechanism, chain_n));
                forces.add_to(table, hang, case);
            }
        }
    }
    Ok(state)
}

/// T_j = gravity moment / lever with the chain taken as the straight line between its anchors,
/// for every joint; 0 where gravity closes the joint, infinite where the line passes in front of
/// the hinge.
pub(crate) fn straight_line_force_n(mechanism: &Mechanism, closed: &State) -> Vec<f64> {
    let last = mechanism.bodies.len() - 1;
    let upper = closed.point(mechanism.hooks, mechanism.upper_anchor_m);
    let lower = closed.point(last, mechanism.lower_anchor_m);
    let down = (lower - upper).try_normalize(0.0);
    (mechanism.hooks..mechanism.joints())
        .map(|joint| {
            let gravity = closed.load_nm[joint];
            let lever = down.map_or(0.0, |down| (lower - closed.hinge_m(joint)).perp(&down));
            if gravity <= 0.0 {
                0.0
            } else if lever > NOTHING {
                gravity / lever
            } else {
                f64::INFINITY
            }
        })
        .collect()
}
