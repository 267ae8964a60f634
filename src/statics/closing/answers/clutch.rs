//! The lever hoist's slip clutch: does it close the hang, and what is the most the crew can do?
//!
//! The clutch slips somewhere in a band of force. It is sure to close the hang when the lower edge
//! is at least the greatest force on the way; the parts are held against the upper edge.

use super::forces::JointForces;
use crate::model::Hang;
use crate::statics::limits::{Case, FactorUse, LimitTable, Part, joint_limits};

/// Whether the clutch lets the hoist close the hang.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClutchVerdict {
    /// The lower edge is at least the force needed.
    Closes,
    /// The force needed lies within the band.
    MaySlip,
    /// The upper edge is below the force needed.
    SlipsBefore,
    /// No force closes the hang.
    NoForceCloses,
    /// The band is not stated.
    NotStated,
}

impl ClutchVerdict {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Closes => "closes",
            Self::MaySlip => "may slip before it closes",
            Self::SlipsBefore => "slips before it closes",
            Self::NoForceCloses => "no force closes the hang",
            Self::NotStated => "not stated",
        }
    }

    pub(crate) fn of(clutch_n: Option<[f64; 2]>, needed_n: Option<f64>) -> Self {
        match (clutch_n, needed_n) {
            (None, _) => Self::NotStated,
            (_, None) => Self::NoForceCloses,
            (Some([low, _]), Some(needed)) if low >= needed => Self::Closes,
            (Some([_, high]), Some(needed)) if high >= needed => Self::MaySlip,
            _ => Self::SlipsBefore,
        }
    }
}

/// Greatest forces over several states.
#[derive(Clone, Debug, Default)]
pub(crate) struct Greatest {
    pub chain_n: f64,
    pub hinge_n: Vec<f64>,
    pub tension_n: Vec<f64>,
    pub compression_n: Vec<f64>,
}

impl Greatest {
    pub fn include(&mut self, chain_n: f64, forces: &JointForces) {
        let joints = forces.stop_force_n.len();
        for list in [
            &mut self.hinge_n,
            &mut self.tension_n,
            &mut self.compression_n,
        ] {
            list.resize(joints, 0.0);
        }
        self.chain_n = self.chain_n.max(chain_n);
        for joint in 0..joints {
            let stop_n = forces.stop_force_n[joint];
            self.hinge_n[joint] = self.hinge_n[joint].max(forces.hinge_force_n[joint].norm());
            self.tension_n[joint] = self.tension_n[joint].max(-stop_n);
            self.compression_n[joint] = self.compression_n[joint].max(stop_n);
        }
    }

    /// Adds chain, hoist, anchors and joints to `table`, saying whether the dynamic factor is in the
    /// chain's force and in the joints'.
    pub fn add_to(
        &self,
        table: &mut LimitTable,
        hang: &Hang,
        case: Case,
        [in_chain, in_joints]: [FactorUse; 2],
    ) {
        let gear = hang.gear.as_ref().map(|gear| gear.limits);
        let bottom_limit_n = hang.bottom.as_ref().and_then(|b| b.limits.chain_n);
        for (part, limit_n) in [
            (Part::ClosingChain, gear.and_then(|limits| limits.chain_n)),
            (Part::LeverHoist, gear.and_then(|limits| limits.hoist_n)),
            (Part::UpperAnchor, hang.frame.limits.chain_n),
            (Part::LowerAnchor, bottom_limit_n),
        ] {
            table.add(part, self.chain_n, limit_n, case, in_chain);
        }
        self.add_joints_to(table, hang, case, in_joints);
    }

    /// Adds the joints alone.
    pub fn add_joints_to(
        &self,
        table: &mut LimitTable,
        hang: &Hang,
        case: Case,
        in_joints: FactorUse,
    ) {
        for joint in 0..self.hinge_n.len() {
            let limits = joint_limits(hang, joint);
            for (part, force_n, limit_n) in [
                (Part::Hinge(joint), self.hinge_n[joint], limits.hinge_n),
                (
                    Part::RearLink(joint),
                    self.tension_n[joint],
                    limits.rear_link_n,
                ),
                (Part::Stop(joint), self.compression_n[joint], limits.stop_n),
            ] {
                table.add(part, force_n, limit_n, case, in_joints);
            }
        }
    }

    /// All forces so many times as great.
    pub fn times(mut self, factor: f64) -> Self {
        self.chain_n *= factor;
        let lists = [
            &mut self.hinge_n,
            &mut self.tension_n,
            &mut self.compression_n,
        ];
        for force_n in lists.into_iter().flatten() {
            *force_n *= factor;
        }
        self
    }
}
