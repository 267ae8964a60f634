//! Can this candidate be hung? Every hard constraint with its margin.

use super::building::add_building;
use super::laid::Laid;
use crate::error::Result;
use crate::model::{Rigging, SightLine, Study};
use crate::pose::{Pose, Vec2};
use crate::statics::balance::hoist_loads_of;
use crate::statics::closing::add_closed_limits;
use crate::statics::joints::joint_loads_of;
use crate::statics::limits::{Lifting, LimitTable, Part};

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
    /// Least load of a hoist in any stage of building, in newtons; below 0 it would have to push.
    BuildingLoad,
    /// Distance of the hang from a line of sight, in metres; negative where it crosses.
    SightLine(usize),
    /// Mean level of the seats over one cabinet on its axis at 1 m, in decibels.
    MeanLevel,
    /// Level of the quietest seat at full drive, in dB re 20 µPa.
    Reach,
    /// Level of a place over the mean of the seats, in decibels.
    QuietPlace(usize),
    /// Level off the seats over the mean of the seats, in decibels.
    OffSeats,
    /// Force on a part against its stated limit, in newtons.
    Limit(Part),
}

impl Constraint {
    /// The constraint as data, and which one of its kind; a limit is told by its part.
    #[must_use]
    pub fn kind(self) -> (&'static str, Option<usize>) {
        match self {
            Self::TrimHeight => ("trim_height", None),
            Self::LowestTilt => ("lowest_tilt", None),
            Self::HighestTilt => ("highest_tilt", None),
            Self::ClosingForce => ("closing_force", None),
            Self::ChainCloses => ("chain_closes", None),
            Self::WantedClosingForce => ("wanted_closing_force", None),
            Self::Mass => ("mass", None),
            Self::BuildingLoad => ("building_load", None),
            Self::SightLine(index) => ("sight_line", Some(index)),
            Self::MeanLevel => ("mean_level", None),
            Self::Reach => ("reach", None),
            Self::QuietPlace(index) => ("quiet_place", Some(index)),
            Self::OffSeats => ("off_seats", None),
            Self::Limit(part) => ("limit", part.kind().1),
        }
    }

    /// The part whose limit it is.
    #[must_use]
    pub fn part(self) -> Option<Part> {
        match self {
            Self::Limit(part) => Some(part),
            _ => None,
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
        let lifting = Lifting::of(study);
        let weight_n = self.laid.pose.weight_n();
        limits.add_lifting(&study.hang, weight_n, &loads, &lifting);
        let mut closing_force_n = None;
        match study.hang.rigging {
            Rigging::Tension => {
                let joints = joint_loads_of(&self.laid.pose)?;
                limits.add_joints(&study.hang, &joints, study.dynamic_factor);
            }
            Rigging::Compression => {
                closing_force_n = self.close(&mut limits, &mut margins)?;
            }
        }
        let goals = &study.goals;
        if let Some(stack) = goals.building_stack {
            let (laid, picks) = (self.laid, self.pick_x_m);
            let least_n = add_building(&mut limits, study, laid, picks, stack)?;
            margins.push(Margin::at_least(Constraint::BuildingLoad, least_n, 0.0));
        }
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
        let laid = self.laid;
        let factor = self.study.dynamic_factor;
        let closed = add_closed_limits(limits, hang, &laid.splays_deg, laid.tilt_deg, factor)
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
