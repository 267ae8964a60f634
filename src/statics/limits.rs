//! How much of each stated limit is used, and in which case?
//!
//! utilisation = demand / limit. A limit that nobody stated stays `None`; it is never a pass.

use super::balance::{GRAVITY_M_S2, HoistLoads};
use super::joints::JointLoads;
use crate::model::Hang;
use std::fmt;

/// A part that can have a stated limit, with the kind of demand on it. Picks, hoists, roof points,
/// supports and spans count from 0 here and from 1 in words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Everything hung, on the fly frame.
    FlyFrame,
    /// One pick of the fly frame.
    Pick(usize),
    /// One hoist.
    Hoist(usize),
    /// One roof point.
    RoofPoint(usize),
    /// The closing chain.
    ClosingChain,
    /// The lever hoist.
    LeverHoist,
    /// The closing chain's anchor on the fly frame.
    UpperAnchor,
    /// The closing chain's anchor on the bottom frame.
    LowerAnchor,
    /// Front hinge of a joint.
    Hinge(usize),
    /// Rear link of a joint, pulling.
    RearLink(usize),
    /// Rear link or stop of a joint, pressing.
    Stop(usize),
    /// Bending moment of a beam.
    BeamMoment,
    /// Shear of a beam.
    BeamShear,
    /// Deflection of a beam.
    BeamDeflection,
    /// One support of a beam.
    BeamSupport(usize),
    /// Load per metre of one span of a beam.
    SpanUniform(usize),
    /// Point loads of one span of a beam.
    SpanPoint(usize),
}

impl Part {
    /// Unit of demand and limit.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::BeamMoment => "N m",
            Self::BeamDeflection => "m",
            Self::SpanUniform(_) => "N/m",
            _ => "N",
        }
    }
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::FlyFrame => f.write_str("fly frame, everything hung"),
            Self::Pick(index) => write!(f, "fly frame, pick {}", index + 1),
            Self::Hoist(index) => write!(f, "hoist {}", index + 1),
            Self::RoofPoint(index) => write!(f, "roof point {}", index + 1),
            Self::ClosingChain => f.write_str("closing chain"),
            Self::LeverHoist => f.write_str("lever hoist"),
            Self::UpperAnchor => f.write_str("fly frame, chain anchor"),
            Self::LowerAnchor => f.write_str("bottom frame, chain anchor"),
            Self::Hinge(joint) => write!(f, "joint {joint}, hinge"),
            Self::RearLink(joint) => write!(f, "joint {joint}, rear link in tension"),
            Self::Stop(joint) => write!(f, "joint {joint}, stop in compression"),
            Self::BeamMoment => f.write_str("moment"),
            Self::BeamShear => f.write_str("shear"),
            Self::BeamDeflection => f.write_str("deflection"),
            Self::BeamSupport(index) => write!(f, "support {}", index + 1),
            Self::SpanUniform(index) => write!(f, "span {}, load per metre", index + 1),
            Self::SpanPoint(index) => write!(f, "span {}, point loads", index + 1),
        }
    }
}

/// One part, the greatest demand on it, and the limit stated for it, both in the part's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitRow {
    /// The part and the kind of demand.
    pub part: Part,
    /// The greatest demand over all cases.
    pub demand: f64,
    /// The stated limit.
    pub limit: Option<f64>,
    /// The case that gives the greatest demand.
    pub case: &'static str,
}

impl LimitRow {
    /// Demand over limit, where a limit is stated.
    #[must_use]
    pub fn utilisation(&self) -> Option<f64> {
        self.limit.map(|limit| self.demand / limit)
    }
}

/// The parts in the order they were first added.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LimitTable {
    /// One row a part.
    pub rows: Vec<LimitRow>,
}

/// What the hoists and roof points are held against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lifting {
    /// Working load limit of each hoist.
    pub hoist_limit_n: Option<f64>,
    /// Limit of each roof point.
    pub roof_point_limit_n: Option<f64>,
    /// Mass of each hoist with its chain.
    pub hoist_mass_kg: f64,
    /// Factor for starting and stopping.
    pub dynamic_factor: f64,
}

impl Default for Lifting {
    fn default() -> Self {
        Self {
            hoist_limit_n: None,
            roof_point_limit_n: None,
            hoist_mass_kg: 0.0,
            dynamic_factor: 1.0,
        }
    }
}

impl LimitTable {
    /// Adds a demand on a part, keeping the greater where the part already has one.
    pub fn add(&mut self, part: Part, demand: f64, limit: Option<f64>, case: &'static str) {
        match self.rows.iter_mut().find(|row| row.part == part) {
            Some(row) if row.demand >= demand => {}
            Some(row) => {
                row.demand = demand;
                row.case = case;
            }
            None => self.rows.push(LimitRow {
                part,
                demand,
                limit,
                case,
            }),
        }
    }

    /// The greatest utilisation of all stated limits.
    #[must_use]
    pub fn greatest_utilisation(&self) -> Option<f64> {
        self.rows
            .iter()
            .filter_map(LimitRow::utilisation)
            .reduce(f64::max)
    }

    /// Adds everything above the first joint: frame, picks, hoists, roof points.
    pub fn add_lifting(
        &mut self,
        hang: &Hang,
        weight_n: f64,
        loads: &HoistLoads,
        lifting: &Lifting,
        case: &'static str,
    ) {
        let factor = lifting.dynamic_factor;
        let frame = &hang.frame.limits;
        self.add(Part::FlyFrame, weight_n * factor, frame.total_n, case);
        for (index, load) in loads.load_n.iter().enumerate() {
            let load_n = load * factor;
            self.add(Part::Pick(index), load_n, frame.pick_n, case);
            self.add(Part::Hoist(index), load_n, lifting.hoist_limit_n, case);
            self.add(
                Part::RoofPoint(index),
                (load + lifting.hoist_mass_kg * GRAVITY_M_S2) * factor,
                lifting.roof_point_limit_n,
                case,
            );
        }
    }

    /// Adds hinge and rear link or stop of every joint.
    pub fn add_joints(&mut self, hang: &Hang, loads: &JointLoads, case: &'static str) {
        for (index, (hinge, &link_n)) in loads
            .hinge_force_n
            .iter()
            .zip(&loads.rear_link_n)
            .enumerate()
        {
            let (hinge_n, tension_n, compression_n) = joint_limits(hang, index);
            self.add(Part::Hinge(index), hinge.norm(), hinge_n, case);
            if link_n >= 0.0 {
                self.add(Part::RearLink(index), link_n, tension_n, case);
            } else {
                self.add(Part::Stop(index), -link_n, compression_n, case);
            }
        }
    }
}

/// Stated limits of a joint: hinge, rear link in tension, rear link or stop in compression. They
/// belong to the body above the joint.
pub(crate) fn joint_limits(hang: &Hang, joint: usize) -> (Option<f64>, Option<f64>, Option<f64>) {
    if joint == 0 {
        let limits = &hang.frame.limits;
        (limits.hinge_n, limits.rear_link_n, limits.stop_n)
    } else {
        let limits = &hang.cabinets[joint - 1].limits;
        (limits.hinge_n, limits.rear_link_n, limits.stop_n)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_nobody_stated_has_no_utilisation() {
        let mut table = LimitTable::default();
        table.add(Part::FlyFrame, 5.0, None, "at rest");
        assert_eq!(table.rows[0].utilisation(), None);
        assert_eq!(table.greatest_utilisation(), None);
    }

    #[test]
    fn the_case_with_the_greatest_force_governs() {
        let mut table = LimitTable::default();
        table.add(Part::FlyFrame, 5.0, Some(10.0), "at rest");
        table.add(Part::FlyFrame, 8.0, Some(10.0), "closing");
        table.add(Part::FlyFrame, 6.0, Some(10.0), "closed");
        assert_eq!(table.rows.len(), 1);
        assert_eq!(table.rows[0].case, "closing");
        assert_eq!(table.rows[0].utilisation(), Some(0.8));
    }
}
