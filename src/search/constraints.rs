//! Can this candidate be hung? Every hard constraint with its margin.

use super::problem::Laid;
use crate::error::Result;
use crate::model::{Rigging, SightLine, Study};
use crate::pose::{Pose, Vec2};
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
    /// Closing force against the greatest asked for, in newtons.
    WantedClosingForce,
    /// Mass hung against the greatest asked for, in kilograms.
    Mass,
    /// Distance of the hang from a line of sight, in metres; negative where it crosses.
    SightLine(usize),
    /// Mean level of the seats over one cabinet on its axis at 1 m, in decibels.
    MeanLevel,
    /// Level of the quietest seat at full drive, in dB re 20 µPa.
    Reach,
    /// Level of a place over the mean of the seats, in decibels.
    Ceiling(usize),
    /// Level off the seats over the mean of the seats, in decibels.
    OffSeats,
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
            Self::WantedClosingForce => f.write_str("closing force, N"),
            Self::Mass => f.write_str("mass hung, kg"),
            Self::SightLine(index) => write!(f, "distance from sight line {}, m", index + 1),
            Self::MeanLevel => f.write_str("mean level of the seats, dB"),
            Self::Reach => f.write_str("level of the quietest seat at full drive, dB"),
            Self::Ceiling(index) => write!(f, "level at ceiling {} over the seats, dB", index + 1),
            Self::OffSeats => f.write_str("level off the seats over the seats, dB"),
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
    pub(super) fn at_least(constraint: Constraint, value: f64, bound: f64) -> Self {
        Self {
            constraint,
            value,
            bound,
            margin: value - bound,
        }
    }

    pub(super) fn at_most(constraint: Constraint, value: f64, bound: f64) -> Self {
        Self {
            constraint,
            value,
            bound,
            margin: bound - value,
        }
    }

    /// How far the constraint is missed, relative to its bound (or to 1 for a bound below 1);
    /// 0 when it is met.
    pub(super) fn miss(&self) -> f64 {
        (-self.margin / self.bound.abs().max(1.0)).max(0.0)
    }
}

/// Forces and margins of one candidate.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Mechanics {
    /// Closing force of a compression hang that a chain closes.
    pub closing_force_n: Option<f64>,
    pub limits: LimitTable,
    pub margins: Vec<Margin>,
}

/// Sum of the relative misses; 0 when every constraint is met.
pub(super) fn violation(margins: &[Margin]) -> f64 {
    margins.iter().map(Margin::miss).sum()
}

/// Distance of the nearest corner of a cabinet from a line of sight; where the line passes between
/// corners, minus the least distance by which the hang would have to be moved across it.
fn clearance_m(pose: &Pose, sight: &SightLine) -> f64 {
    let from = Vec2::from(sight.from_m);
    let along = Vec2::from(sight.to_m) - from;
    let length_m = along.norm();
    let mut nearest_m = f64::INFINITY;
    let (mut above_m, mut below_m) = (0.0f64, 0.0f64);
    for corner in pose.corners_m.iter().flatten() {
        let to = corner - from;
        let share = to.dot(&along) / (length_m * length_m).max(f64::MIN_POSITIVE);
        if (0.0..=1.0).contains(&share) {
            let side_m = along.perp(&to) / length_m;
            above_m = above_m.max(side_m);
            below_m = below_m.max(-side_m);
            nearest_m = nearest_m.min(side_m.abs());
        } else {
            let end = from + along * share.clamp(0.0, 1.0);
            nearest_m = nearest_m.min((corner - end).norm());
        }
    }
    if above_m > 0.0 && below_m > 0.0 {
        -above_m.min(below_m)
    } else {
        nearest_m
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
        let mut closing_force_n = None;
        match study.hang.rigging {
            Rigging::Tension => {
                limits.add_joints(&study.hang, &joint_loads_of(&self.laid.pose)?, "hanging");
            }
            Rigging::Compression => {
                closing_force_n = self.close(&mut limits, &mut margins)?;
            }
        }
        let goals = &study.goals;
        if let Some(most_kg) = goals.most_mass_kg {
            let mass_kg = self.laid.pose.mass_kg;
            margins.push(Margin::at_most(Constraint::Mass, mass_kg, most_kg));
        }
        for (index, sight) in goals.sight_lines.iter().enumerate() {
            let clear_m = clearance_m(&self.laid.pose, sight);
            margins.push(Margin::at_least(Constraint::SightLine(index), clear_m, 0.0));
        }
        for row in &limits.rows {
            if let Some(limit) = row.limit {
                let constraint = Constraint::Limit(row.part);
                margins.push(Margin::at_most(constraint, row.demand, limit));
            }
        }
        Ok(Mechanics {
            closing_force_n,
            limits,
            margins,
        })
    }

    /// Adds what closing asks for; the closing force, where a chain force closes the hang.
    fn close(&self, limits: &mut LimitTable, margins: &mut Vec<Margin>) -> Result<Option<f64>> {
        let hang = &self.study.hang;
        let closed = add_closed_limits(limits, hang, &self.laid.splays_deg, self.laid.tilt_deg)
            .map_err(|error| error.within("hang"))?;
        let Some(force_n) = closed.force_n() else {
            margins.push(Margin::at_least(Constraint::ChainCloses, 0.0, 1.0));
            return Ok(None);
        };
        margins.push(Margin::at_least(Constraint::ChainCloses, 1.0, 1.0));
        if let Some([low_n, _]) = hang.gear.as_ref().and_then(|gear| gear.clutch_n) {
            margins.push(Margin::at_most(Constraint::ClosingForce, force_n, low_n));
        }
        if let Some(most_n) = self.study.goals.most_closing_force_n {
            margins.push(Margin::at_most(
                Constraint::WantedClosingForce,
                force_n,
                most_n,
            ));
        }
        Ok(Some(force_n))
    }
}
