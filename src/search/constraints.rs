//! Can this candidate be hung? Every hard constraint with its margin.

use super::problem::Laid;
use crate::error::Result;
use crate::model::{Rigging, Study};
use crate::statics::balance::{GRAVITY_M_S2, hoist_loads_of};
use crate::statics::joints::joint_loads_of;
use crate::statics::limits::{Lifting, LimitTable};

/// One hard constraint: a quantity and the bound it has to keep.
#[derive(Clone, Debug, PartialEq)]
pub struct Margin {
    /// What is constrained, with its unit in the name of the quantity.
    pub constraint: String,
    /// The candidate's value.
    pub value: f64,
    /// The bound.
    pub bound: f64,
    /// Distance from the bound, in the same unit; negative when the constraint is not met.
    pub margin: f64,
}

impl Margin {
    fn at_least(constraint: &str, value: f64, bound: f64) -> Self {
        Self {
            constraint: constraint.to_owned(),
            value,
            bound,
            margin: value - bound,
        }
    }

    fn at_most(constraint: &str, value: f64, bound: f64) -> Self {
        Self {
            constraint: constraint.to_owned(),
            value,
            bound,
            margin: bound - value,
        }
    }

    /// How far the constraint is missed, relative to its bound (or to 1 for a bound below 1);
    /// 0 when it is met.
    fn miss(&self) -> f64 {
        (-self.margin / self.bound.abs().max(1.0)).max(0.0)
    }
}

/// Forces and margins of one candidate.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Mechanics {
    pub limits: LimitTable,
    pub margins: Vec<Margin>,
}

impl Mechanics {
    /// Sum of the relative misses; 0 when every constraint is met.
    pub(super) fn violation(&self) -> f64 {
        self.margins.iter().map(Margin::miss).sum()
    }
}

/// A candidate laid out for judgement.
pub(super) struct Judge<'a> {
    pub study: &'a Study,
    pub laid: &'a Laid,
    pub pick_x_m: &'a [f64],
    pub tilt_is_free: bool,
}

impl Judge<'_> {
    pub(super) fn judge(&self) -> Result<Mechanics> {
        let study = self.study;
        let loads = hoist_loads_of(&self.laid.pose, &study.hang, self.pick_x_m)?;
        let mut margins = vec![Margin::at_least(
            "trim height, m",
            self.laid.pose.trim_m,
            study.min_trim_m,
        )];
        let [lowest_deg, highest_deg] = if self.tilt_is_free {
            study.tilt_range_deg
        } else {
            loads.tilt_range_deg
        };
        margins.push(Margin::at_least(
            "tilt above the lowest reachable, deg",
            self.laid.tilt_deg,
            lowest_deg,
        ));
        margins.push(Margin::at_most(
            "tilt below the highest reachable, deg",
            self.laid.tilt_deg,
            highest_deg,
        ));

        let mut limits = LimitTable::default();
        let lifting = Lifting {
            hoist_limit_n: study.hoist_limit_n,
            roof_point_limit_n: study.roof_point_limit_n,
            hoist_mass_kg: study.hoist_mass_kg,
            dynamic_factor: study.dynamic_factor,
        };
        let weight_n = self.laid.pose.mass_kg * GRAVITY_M_S2;
        limits.add_lifting(&study.hang, weight_n, &loads, &lifting, "hanging");
        if study.hang.rigging == Rigging::Tension {
            limits.add_joints(&study.hang, &joint_loads_of(&self.laid.pose)?, "hanging");
        }
        for row in &limits.rows {
            if let Some(limit_n) = row.limit_n {
                let name = format!("{}, N", row.item);
                margins.push(Margin::at_most(&name, row.force_n, limit_n));
            }
        }
        Ok(Mechanics { limits, margins })
    }
}
