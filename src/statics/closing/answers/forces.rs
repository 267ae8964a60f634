//! What joints and hoists carry at any state of a closing hang.
//!
//! Contact moment of joint j: μ_j = −(∂U/∂θ_j + T ∂L/∂θ_j), positive pressing on the stop. The
//! rear link or stop lies along its pins at lever e about the hinge and carries N = −μ_j/e, tension
//! positive. All below the joint is at rest under weight, chain, link, hinge and dead loads P:
//! H = (0, W) − P − N u + T d, with u the unit vector from lower to upper pin and d the chain's
//! direction past the joint, downwards.

use crate::pose::mechanism::Mechanism;
use crate::pose::state::State;
use crate::pose::{PlacedJoint, Vec2};
use crate::statics::joints::link_line;

/// Forces at every joint, top to bottom, fixed joints included.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JointForces {
    /// Moment by which the joint presses on its stop; negative pulls on the rear link or open limit.
    pub contact_moment_nm: Vec<f64>,
    /// Force of the rear link or stop, compression positive.
    pub stop_force_n: Vec<f64>,
    /// Force of the hinge on the body below, `(x, z)`.
    pub hinge_force_n: Vec<Vec2>,
}

impl JointForces {
    /// Drops the joints from `count` on: those of a hang with no bottom frame.
    pub(crate) fn keep_first(&mut self, count: usize) {
        self.contact_moment_nm.truncate(count);
        self.stop_force_n.truncate(count);
        self.hinge_force_n.truncate(count);
    }
}

impl State {
    /// The joint with its pins.
    pub(crate) fn placed_joint(&self, mechanism: &Mechanism, joint: usize) -> PlacedJoint {
        PlacedJoint {
            hinge_m: self.hinge_m(joint),
            upper_pin_m: self.point(joint, mechanism.bodies[joint].rear_pins_m[1]),
            lower_pin_m: self.point(joint + 1, mechanism.bodies[joint + 1].rear_pins_m[0]),
        }
    }

    /// Forces at every joint with `force_n` in the chain. A joint whose link passes through its
    /// hinge carries its moment there as a couple, with no link force.
    pub(crate) fn joint_forces(&self, mechanism: &Mechanism, force_n: f64) -> JointForces {
        let joints = mechanism.joints() - mechanism.hooks;
        let mut forces = JointForces {
            contact_moment_nm: Vec::with_capacity(joints),
            stop_force_n: Vec::with_capacity(joints),
            hinge_force_n: Vec::with_capacity(joints),
        };
        for joint in mechanism.hooks..mechanism.joints() {
            let moment_nm = -self.slope_nm(joint, force_n);
            let (link_up, stop_n) = match link_line(&self.placed_joint(mechanism, joint)) {
                Some((up, lever_m)) => (up, moment_nm / lever_m),
                None => (Vec2::zeros(), 0.0),
            };
            let weight_n = self.below_kg[joint] * mechanism.gravity_m_s2;
            forces.contact_moment_nm.push(moment_nm);
            forces.stop_force_n.push(stop_n);
            forces.hinge_force_n.push(
                Vec2::new(0.0, weight_n) - self.below_push_n[joint]
                    + link_up * stop_n
                    + self.direction[joint] * force_n,
            );
        }
        forces
    }
}
