//! What holds the hang closed: the chain force at which every joint presses on its stop.
//!
//! Joint j presses when ∂U/∂θ_j + T ∂L/∂θ_j ≤ 0. With lever −∂L/∂θ_j > 0 that asks for at least
//! T_j = (∂U/∂θ_j)/(−∂L/∂θ_j); with a lever below zero the chain opens the joint and T_j is the
//! most it may carry.
//!
//! Hoists that start and stop make all weights φ times as great. The closed chain is locked at its
//! length, its stops taken as stiff beside it: while every stop presses, T stays as it was and the
//! stops give way, μ_j = −(φ ∂U/∂θ_j + T ∂L/∂θ_j); where φ times the closing force is more than T, a
//! stop lifts off and the chain takes that.

use super::clutch::Greatest;
use crate::equilibrium::tolerances::NO_LEVER;
use crate::error::Result;
use crate::model::Hang;
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use crate::statics::limits::{Case, FactorUse, LimitTable};

/// A lever shorter than this, or a moment below this share of a newton metre, counts as none.
pub(crate) const NOTHING: f64 = 1e-12;

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
        let moments = joints
            .filter(|&place| mechanism.closes(place))
            .map(|place| {
                let joint = place - mechanism.hooks;
                (joint, closed.load_nm[place], -closed.lever_m[place])
            });
        Self::holding(moments, mechanism.load_n())
    }

    /// For joints with the moment that opens each, and the chain's lever that closes it; a lever that
    /// asks for more than [`NO_LEVER`] times the weight is none.
    pub(crate) fn holding(joints: impl Iterator<Item = (usize, f64, f64)>, weight_n: f64) -> Self {
        let mut least = (0.0, None);
        let mut most: (f64, Option<usize>) = (f64::INFINITY, None);
        for (joint, gravity, lever) in joints {
            if lever > NOTHING && gravity <= NO_LEVER * weight_n * lever {
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
    let closed = State::closed(&mechanism);
    match ClosedState::of(&mechanism, &closed) {
        ClosedState::Closes { force_n, joint, .. } => Some(ClosingForce { force_n, joint }),
        _ => None,
    }
}

/// Adds the forces of the closed hang to `table`, at its closing force and with the slip clutch at
/// its upper edge, hoists standing and lifting, without the path: quick enough for a search.
/// `splays_deg` has one angle fewer than there are cabinets; joint 0 is locked.
///
/// # Errors
/// Not a compression hang, or no bottom frame or chain anchor.
pub fn add_closed_limits(
    table: &mut LimitTable,
    hang: &Hang,
    splays_deg: &[f64],
    tilt_deg: f64,
    dynamic_factor: f64,
) -> Result<ClosedState> {
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = Mechanism::new(hang, splays_deg, tilt_rad, TopJoint::Locked)?;
    let closed = State::closed(&mechanism);
    let state = ClosedState::of(&mechanism, &closed);
    if let Some(force_n) = state.force_n() {
        let held = Held {
            mechanism: &mechanism,
            closed: &closed,
            closing_force_n: force_n,
        };
        held.add_to(table, hang, None, dynamic_factor);
    }
    Ok(state)
}

/// Adds the forces of the closed hang at the closing force it asks for at `tilt_deg`, where there is
/// one; joint 0 is locked.
///
/// # Errors
/// Not a compression hang, or no bottom frame or chain anchor.
pub fn add_closed_at(table: &mut LimitTable, hang: &Hang, tilt_deg: f64, case: Case) -> Result<()> {
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = Mechanism::new(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked)?;
    let closed = State::closed(&mechanism);
    if let Some(force_n) = ClosedState::of(&mechanism, &closed).force_n() {
        let mut forces = Greatest::default();
        forces.include(force_n, &closed.joint_forces(&mechanism, force_n));
        forces.add_to(table, hang, case, [FactorUse::HoistsStand; 2]);
    }
    Ok(())
}

/// A closed hang that a chain force holds.
pub(crate) struct Held<'a> {
    pub mechanism: &'a Mechanism,
    pub closed: &'a State,
    pub closing_force_n: f64,
}

impl Held<'_> {
    /// Adds the closed states: at the closing force, with `preload_n` more as far as the slip clutch
    /// allows it, and with the slip clutch at its upper edge.
    pub fn add_to(
        &self,
        table: &mut LimitTable,
        hang: &Hang,
        preload_n: Option<f64>,
        dynamic_factor: f64,
    ) {
        let closing_n = self.closing_force_n;
        let upper_edge_n = hang.gear.as_ref().and_then(|gear| gear.clutch_n);
        let upper_edge_n = upper_edge_n.map(|[_, high]| high);
        for (chain_n, standing, lifted) in [
            (Some(closing_n), Case::Closed, Case::ClosedLifted),
            (
                preload_n
                    .map(|preload| closing_n + preload)
                    .filter(|&chain_n| upper_edge_n.is_none_or(|high| chain_n <= high)),
                Case::Preloaded,
                Case::PreloadedLifted,
            ),
            (
                upper_edge_n.filter(|&high| high >= closing_n),
                Case::ClutchAtUpperEdge,
                Case::ClutchAtUpperEdgeLifted,
            ),
        ] {
            let Some(chain_n) = chain_n else { continue };
            // Lifted first: where the chain's force is the same standing, the row tells why.
            if dynamic_factor > 1.0 {
                let applied = FactorUse::Applied(dynamic_factor);
                let least_n = dynamic_factor * closing_n;
                let (chain_n, in_chain) = if chain_n >= least_n {
                    (chain_n, FactorUse::ChainLocked)
                } else {
                    (least_n, applied)
                };
                let forces = self.at(chain_n, dynamic_factor);
                forces.add_to(table, hang, lifted, [in_chain, applied]);
            }
            let factors = [FactorUse::HoistsStand; 2];
            self.at(chain_n, 1.0).add_to(table, hang, standing, factors);
        }
    }

    /// Forces with `chain_n` in the chain and all weights `weights` times as great.
    fn at(&self, chain_n: f64, weights: f64) -> Greatest {
        let mut forces = Greatest::default();
        let share_n = chain_n / weights;
        forces.include(share_n, &self.closed.joint_forces(self.mechanism, share_n));
        forces.times(weights)
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    /// One joint that 300 N m open, in a hang of 2000 N.
    fn closed_by(lever_m: f64) -> ClosedState {
        ClosedState::holding([(1, 300.0, lever_m)].into_iter(), 2000.0)
    }

    #[test]
    fn a_lever_that_asks_for_ten_thousand_times_the_weight_is_none() {
        assert_eq!(closed_by(0.5).force_n(), Some(600.0));
        assert!(closed_by(1.6e-5).force_n().is_some());
        for lever_m in [1.4e-5, 1e-9, 1e-13, 0.0, -1e-9, -0.5] {
            assert_eq!(closed_by(lever_m), ClosedState::NoLever { joint: 1 });
        }
    }

    #[test]
    fn a_chain_that_opens_a_joint_has_a_most_force_or_opens_before_it_closes() {
        let joints = |asked: f64| {
            ClosedState::holding([(1, asked, 0.5), (2, -100.0, -0.25)].into_iter(), 2000.0)
        };
        let state = joints(150.0);
        assert_eq!(
            (state.force_n(), state.most_n()),
            (Some(300.0), Some(400.0))
        );
        assert_eq!(state.governing_joint(), Some(1));
        let opened = ClosedState::OpensAnother {
            joint: 1,
            opened: 2,
        };
        assert_eq!(joints(250.0), opened);
    }

    #[test]
    fn gravity_alone_closes_a_hang_of_no_opening_moment() {
        let state = ClosedState::holding([(1, -5.0, 0.5), (2, 0.0, 0.5)].into_iter(), 2000.0);
        assert_eq!(state.name(), "held closed by gravity");
        assert_eq!(
            (state.force_n(), state.governing_joint()),
            (Some(0.0), None)
        );
    }
}
