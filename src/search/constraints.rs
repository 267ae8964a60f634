//! Can this candidate be hung? Every hard constraint with its margin.

use super::problem::Laid;
use crate::error::Result;
use crate::model::{Rigging, Study};
use crate::statics::balance::{GRAVITY_M_S2, hoist_loads_of};
use crate::statics::closing::add_closed_limits;
use crate::statics::joints::joint_loads_of;
use crate::statics::limits::{Lifting, LimitTable, Part};
use std::fmt;

/// What a candidate has to keep.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Constraint {
    /// Height of the lowest point above the floor, in metres.
    TrimHeight,
    /// Tilt against the lowest that the picks can hold or that was asked for, in degrees.
    LowestTilt,
    /// Tilt against the highest, in degrees.
    HighestTilt,
    /// Closing force against the lower edge of the slip clutch's band, in newtons.
    ClosingForce,
    /// Whether any chain force closes the hang: 1 or 0.
    ChainCloses,
    /// Force on a part against its stated limit, in newtons.
    Limit(Part),
}

impl fmt::Display for Constraint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TrimHeight => f.write_str("trim height, m"),
            Self::LowestTilt => f.write_str("tilt above the lowest, deg"),
            Self::HighestTilt => f.write_str("tilt below the highest, deg"),
            Self::ClosingForce => f.write_str("closing force below the clutch's lower edge, N"),
            Self::ChainCloses => f.write_str("the chain closes every joint"),
            Self::Limit(part) => write!(f, "{part}, N"),
        }
    }
}

/// One hard constraint: a quantity and the bound it has to keep.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// What is constrained.
    pub constraint: Constraint,
    /// The candidate's value.
    pub value: f64,
    /// The bound.
    pub bound: f64,
    /// Distance from the bound, in the same unit; negative when the constraint is not met.
    pub margin: f64,
}

impl Margin {
    fn at_least(constraint: Constraint, value: f64, bound: f64) -> Self {
        Self {
            constraint,
            value,
            bound,
            margin: value - bound,
        }
    }

    fn at_most(constraint: Constraint, value: f64, bound: f64) -> Self {
        Self {
            constraint,
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
        let [lowest_deg, highest_deg] = if self.tilt_is_free {
            study.tilt_range_deg
        } else {
            loads.tilt_range_deg
        };
        let tilt_deg = self.laid.tilt_deg;
        let mut margins = vec![
            Margin::at_least(
                Constraint::TrimHeight,
                self.laid.pose.trim_m,
                study.min_trim_m,
            ),
            Margin::at_least(Constraint::LowestTilt, tilt_deg, lowest_deg),
            Margin::at_most(Constraint::HighestTilt, tilt_deg, highest_deg),
        ];

        let mut limits = LimitTable::default();
        let lifting = Lifting {
            hoist_limit_n: study.hoist_limit_n,
            roof_point_limit_n: study.roof_point_limit_n,
            hoist_mass_kg: study.hoist_mass_kg,
            dynamic_factor: study.dynamic_factor,
        };
        let weight_n = self.laid.pose.mass_kg * GRAVITY_M_S2;
        limits.add_lifting(&study.hang, weight_n, &loads, &lifting, "hanging");
        match study.hang.rigging {
            Rigging::Tension => {
                limits.add_joints(&study.hang, &joint_loads_of(&self.laid.pose)?, "hanging");
            }
            Rigging::Compression => margins.extend(self.close(&mut limits)?),
        }
        for row in &limits.rows {
            if let Some(limit_n) = row.limit_n {
                let constraint = Constraint::Limit(row.part);
                margins.push(Margin::at_most(constraint, row.force_n, limit_n));
            }
        }
        Ok(Mechanics { limits, margins })
    }

    fn close(&self, limits: &mut LimitTable) -> Result<Vec<Margin>> {
        let hang = &self.study.hang;
        let closed = add_closed_limits(limits, hang, &self.laid.splays_deg, self.laid.tilt_deg)
            .map_err(|error| error.within("hang"))?;
        let closes = f64::from(u8::from(closed.force_n().is_some()));
        let mut margins = vec![Margin::at_least(Constraint::ChainCloses, closes, 1.0)];
        let clutch_n = hang.gear.as_ref().and_then(|gear| gear.clutch_n);
        if let (Some(force_n), Some([low_n, _])) = (closed.force_n(), clutch_n) {
            margins.push(Margin::at_most(Constraint::ClosingForce, force_n, low_n));
        }
        Ok(margins)
    }
}
