//! Is what hangs what was planned, and if not, which joint's pin disagrees?
//!
//! Readings rᵢ ± σᵢ of inclinometers and load cells are compared with what the pose and the balance
//! of the hang predict: angles φ + αᵢ, and on two picks loads
//! F₁ = W (x_G − x₂ − (z_G − z_P) tan φ)/(x₁ − x₂) with places in the frame's axes. On two picks, or
//! where none are stated, the frame's tilt φ is free, for the crew sets it; on one pick it follows
//! from the pins, and the load is W. A set of pins is accepted when
//! χ² = Σ ((rᵢ − prediction)/σᵢ)², least over a free tilt, stays below the quantile 1 − α of the χ²
//! distribution. Its degrees of freedom are the readings less the rank of their derivatives by what is
//! free: one less where the tilt is free and some reading changes with it. With none left nothing is
//! tested. The plan is tested, and every hang in which up to k joints sit in other of their
//! positions. If no more than k pins are wrong, the true hang is among the accepted ones with
//! probability 1 − α, and so all verdicts hold at once:
//!
//! - a joint is consistent when it sits as planned in every accepted hang;
//! - it is inconsistent when it sits elsewhere in every accepted hang;
//! - else, and when none is accepted, nobody can tell.
//!
//! Besides, a least-squares estimate of every joint's deviation at once, with its covariance
//! (JᵀWJ)⁺, says which deviations the readings determine.
//!
//! Source: χ² test and weighted least squares, e.g. Bevington & Robinson, *Data Reduction and Error
//! Analysis for the Physical Sciences*, 3rd ed., ch. 4, 7 and 11.

mod other_hangs;

pub use other_hangs::{MOST_HANGS, OtherHang};

use crate::error::{InputError, Result, accept, each, finite, positive, within_range};
use crate::model::{Hang, Valid};
use crate::pose::{Hanging, Vec2, place};
use crate::statics::balance::{hanging_tilt, rest_tilt_deg};
use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Singular values below this share of the greatest are undetermined directions.
const UNDETERMINED: f64 = 1e-7;
/// Greatest tilt either way that a fit goes to.
const MOST_TILT_DEG: f64 = 85.0;
/// Where a turn over the whole range moves no reading by this many standard uncertainties, the tilt
/// is not measured.
const UNMEASURED: f64 = 1e-6;
/// A fit is at its least χ² when a step is below this share of the tilt's standard uncertainty, or
/// below this many degrees.
const SMALL_STEP: f64 = 1e-10;
const MOST_STEPS: usize = 200;

/// A reading with its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// What was read.
    pub what: Quantity,
    /// Its value: degrees or newtons.
    pub value: f64,
    /// Its standard uncertainty.
    pub uncertainty: f64,
}

/// What an instrument reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// Elevation of the fly frame's axis.
    FrameAngle,
    /// Elevation of a cabinet's axis, counted from 0 at the top.
    CabinetAngle(usize),
    /// Load of a hoist, counted from 0.
    HoistLoad(usize),
}

/// What is known of a joint's pin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It sits as planned in every hang that the readings accept.
    Consistent,
    /// It sits elsewhere in every hang that the readings accept.
    Inconsistent,
    /// The readings do not decide.
    CannotTell,
}

/// Whether the readings accept the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlanEnd {
    /// χ² stays within its limit.
    Accepted,
    /// χ² is beyond its limit.
    Refused,
    /// No degree of freedom is left: any readings would be accepted.
    NothingTested,
    /// χ² falls beyond the greatest tilt looked at.
    AtGreatestTilt,
    /// The steps allowed are spent.
    BudgetSpent,
}

impl PlanEnd {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Accepted => "accepted",
            Self::Refused => "refused",
            Self::NothingTested => "nothing tested",
            Self::AtGreatestTilt => "at the greatest tilt",
            Self::BudgetSpent => "budget spent",
        }
    }
}

/// How the tilt of the plan was found.
#[derive(Clone, Copy, PartialEq, Eq)]
enum FitEnd {
    /// At the least χ².
    Fitted,
    /// On one pick it follows from the pins.
    FollowsFromPins,
    /// No reading changes with it.
    NotMeasured,
    /// χ² falls beyond the greatest tilt looked at.
    AtGreatestTilt,
    /// The steps allowed are spent.
    BudgetSpent,
}

/// The readings against the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    /// Whether the readings accept the plan.
    pub end: PlanEnd,
    /// χ² of the plan.
    pub chi_square: f64,
    /// Degrees of freedom: readings less the rank of what is free.
    pub freedom: usize,
    /// Greatest χ² accepted; infinite with no degrees of freedom, where nothing is tested.
    pub chi_square_limit: f64,
    /// Probability of a χ² at least as great if the plan holds.
    pub p_value: f64,
    /// Tilt of the frame that fits best if the plan holds.
    pub tilt_deg: f64,
    /// (reading − prediction)/uncertainty of every reading, at that tilt.
    pub residual: Vec<f64>,
    /// One per joint between cabinets.
    pub verdict: Vec<Verdict>,
    /// Accepted hangs with other pins: fewest pins first, then least χ².
    pub other_hangs: Vec<OtherHang>,
    /// Estimated deviation of each joint's splay from plan, all at once.
    pub deviation_deg: Vec<f64>,
    /// Which of them the readings determine.
    pub determined: Vec<bool>,
    /// Covariance of (tilt, deviations).
    pub covariance_deg2: Vec<Vec<f64>>,
}

/// Compares readings with the planned hang, and with those that have up to `most_wrong_pins` pins in
/// other positions.
///
/// # Errors
/// No reading, a reading of something that is not there or out of bounds, loads without picks, a
/// significance not between 0 and 1, no wrong pin to look for, or more than [`MOST_HANGS`] to try.
pub fn survey(
    planned: &Hanging<'_>,
    readings: &[Reading],
    significance: f64,
    most_wrong_pins: usize,
) -> Result<Survey> {
    let Hanging { hang, pick_x_m, .. } = *planned;
    let planned_tilt_deg = planned.tilt_deg;
    within_range("tilt_deg", planned_tilt_deg, -80.0, 80.0)?;
    check(hang, pick_x_m, readings)?;
    accept(
        significance > 0.0 && significance < 1.0,
        "significance",
        significance,
        "a number between 0 and 1",
    )?;
    accept(
        most_wrong_pins >= 1,
        "most_wrong_pins",
        most_wrong_pins,
        "at least 1",
    )?;
    let model = Model {
        hang,
        pick_x_m,
        readings,
    };
    let plan = model.fit(&hang.splays_deg, planned_tilt_deg);
    let freedom =
        readings.len() - usize::from(matches!(plan.end, FitEnd::Fitted | FitEnd::BudgetSpent));
    let (chi_square_limit, p_value) = if freedom == 0 {
        (f64::INFINITY, 1.0)
    } else {
        let distribution = ChiSquared::new(freedom as f64)
            .map_err(|error| InputError::new("readings", freedom, error))?;
        let limit = distribution.inverse_cdf(1.0 - significance);
        (limit, distribution.sf(plan.chi_square))
    };
    let plan_accepted = plan.chi_square <= chi_square_limit;
    let end = match plan.end {
        FitEnd::AtGreatestTilt => PlanEnd::AtGreatestTilt,
        FitEnd::BudgetSpent => PlanEnd::BudgetSpent,
        _ if freedom == 0 => PlanEnd::NothingTested,
        _ if plan_accepted => PlanEnd::Accepted,
        _ => PlanEnd::Refused,
    };

    let other_hangs =
        other_hangs::other_hangs(&model, plan.tilt_deg, most_wrong_pins, chi_square_limit)?;
    let verdict = (0..hang.splays_deg.len())
        .map(|joint| {
            let sits_elsewhere =
                |other: &OtherHang| other.pins.iter().any(|(place, _)| *place == joint);
            let elsewhere = other_hangs.iter().any(sits_elsewhere);
            let as_planned =
                plan_accepted || other_hangs.iter().any(|other| !sits_elsewhere(other));
            match (freedom, as_planned, elsewhere) {
                (1.., true, false) => Verdict::Consistent,
                (1.., false, true) => Verdict::Inconsistent,
                _ => Verdict::CannotTell,
            }
        })
        .collect();
    let (deviation_deg, determined, covariance_deg2) = model.deviations(&plan);
    Ok(Survey {
        end,
        chi_square: plan.chi_square,
        freedom,
        chi_square_limit,
        p_value,
        tilt_deg: plan.tilt_deg,
        residual: plan.residual,
        verdict,
        other_hangs,
        deviation_deg,
        determined,
        covariance_deg2,
    })
}

fn check(hang: &Valid<Hang>, pick_x_m: &[f64], readings: &[Reading]) -> Result<()> {
    each("pick_x_m", pick_x_m, finite)?;
    accept(
        pick_x_m.len() <= 2,
        "pick_x_m",
        format!("{pick_x_m:?}"),
        "at most two picks",
    )?;
    if let [first, second] = *pick_x_m {
        accept(
            (first - second).abs() > 1e-6,
            "pick_x_m",
            second,
            "two picks that stand apart",
        )?;
    }
    if let [pick] = *pick_x_m {
        hanging_tilt(hang, pick)?;
    }
    accept(
        !readings.is_empty(),
        "readings",
        "[]",
        "at least one reading",
    )?;
    for (index, reading) in readings.iter().enumerate() {
        let field = format!("readings[{index}]");
        finite(&format!("{field}.value"), reading.value)?;
        positive(&format!("{field}.uncertainty"), reading.uncertainty)?;
        let (place, count) = match reading.what {
            Quantity::FrameAngle => continue,
            Quantity::CabinetAngle(cabinet) => (cabinet, hang.cabinets.len()),
            Quantity::HoistLoad(hoist) => (hoist, pick_x_m.len()),
        };
        accept(
            place < count,
            &field,
            format!("number {place}"),
            format!("a number below {count}, the count of cabinets or picks"),
        )?;
    }
    Ok(())
}

struct Model<'a> {
    hang: &'a Hang,
    pick_x_m: &'a [f64],
    readings: &'a [Reading],
}

/// A hang with its joints fixed, in the fly frame's axes.
struct Rigid {
    axis_deg: Vec<f64>,
    cg_m: Vec2,
    weight_n: f64,
}

struct Fit {
    end: FitEnd,
    tilt_deg: f64,
    chi_square: f64,
    residual: Vec<f64>,
}

impl Model<'_> {
    /// The hang with its pins so, in the fly frame's axes, where it turns as one piece.
    fn rigid(&self, splays_deg: &[f64]) -> Rigid {
        let level = place(self.hang, splays_deg, 0.0, 0.0);
        Rigid {
            axis_deg: level
                .axis_rad
                .iter()
                .map(|axis| axis.to_degrees())
                .collect(),
            cg_m: level.cg_m,
            weight_n: level.weight_n(),
        }
    }

    /// A reading as predicted, and its change per degree of tilt.
    fn predict(&self, what: Quantity, rigid: &Rigid, tilt_deg: f64) -> (f64, f64) {
        let hoist = match what {
            Quantity::FrameAngle => return (tilt_deg, 1.0),
            Quantity::CabinetAngle(cabinet) => return (tilt_deg + rigid.axis_deg[cabinet], 1.0),
            Quantity::HoistLoad(hoist) => hoist,
        };
        let [first, second] = *self.pick_x_m else {
            return (rigid.weight_n, 0.0);
        };
        let (own, other) = if hoist == 0 {
            (first, second)
        } else {
            (second, first)
        };
        let rise = rigid.cg_m.y - self.hang.frame.pick_z_m;
        let tangent = tilt_deg.to_radians().tan();
        let share = (rigid.cg_m.x - other - rise * tangent) / (own - other);
        let slope = -rise * (1.0 + tangent * tangent).to_radians() / (own - other);
        (rigid.weight_n * share, rigid.weight_n * slope)
    }

    fn residual(&self, rigid: &Rigid, tilt_deg: f64) -> Vec<f64> {
        let off = |reading: &Reading| {
            let (predicted, _) = self.predict(reading.what, rigid, tilt_deg);
            (reading.value - predicted) / reading.uncertainty
        };
        self.readings.iter().map(off).collect()
    }

    /// Tilt at which the pins bring the frame to rest on one pick.
    fn followed_tilt_deg(&self, rigid: &Rigid) -> Option<f64> {
        let [pick_x_m] = *self.pick_x_m else {
            return None;
        };
        let pick = Vec2::new(pick_x_m, self.hang.frame.pick_z_m);
        Some(rest_tilt_deg(pick, rigid.cg_m))
    }

    /// χ² at a tilt, with half its first derivative and, after Gauss, half its second.
    fn chi_square(&self, rigid: &Rigid, tilt_deg: f64) -> (f64, f64, f64) {
        let mut sums = (0.0, 0.0, 0.0);
        for reading in self.readings {
            let (predicted, slope) = self.predict(reading.what, rigid, tilt_deg);
            let off = (reading.value - predicted) / reading.uncertainty;
            let slope = slope / reading.uncertainty;
            sums.0 += off * off;
            sums.1 -= slope * off;
            sums.2 += slope * slope;
        }
        sums
    }

    fn fit(&self, splays_deg: &[f64], from_deg: f64) -> Fit {
        let rigid = self.rigid(splays_deg);
        let (tilt_deg, end) = match self.followed_tilt_deg(&rigid) {
            Some(tilt_deg) => (tilt_deg, FitEnd::FollowsFromPins),
            None => self.least_tilt_deg(&rigid, from_deg),
        };
        let residual = self.residual(&rigid, tilt_deg);
        Fit {
            end,
            tilt_deg,
            chi_square: residual.iter().map(|r| r * r).sum(),
            residual,
        }
    }

    /// The tilt of least χ²: steps of Gauss and Newton, halved until χ² falls.
    fn least_tilt_deg(&self, rigid: &Rigid, from_deg: f64) -> (f64, FitEnd) {
        let mut tilt_deg = from_deg;
        let mut now = self.chi_square(rigid, tilt_deg);
        for _ in 0..MOST_STEPS {
            let (chi_square, gradient, curvature) = now;
            if curvature.sqrt() * 2.0 * MOST_TILT_DEG < UNMEASURED {
                return (tilt_deg, FitEnd::NotMeasured);
            }
            let mut step = (-gradient / curvature).clamp(-10.0, 10.0);
            if (tilt_deg.abs() >= MOST_TILT_DEG) && step * tilt_deg > 0.0 {
                return (tilt_deg, FitEnd::AtGreatestTilt);
            }
            loop {
                if step.abs() <= SMALL_STEP * curvature.sqrt().recip().max(1.0) {
                    return (tilt_deg, FitEnd::Fitted);
                }
                let next_deg = (tilt_deg + step).clamp(-MOST_TILT_DEG, MOST_TILT_DEG);
                let next = self.chi_square(rigid, next_deg);
                if next.0 <= chi_square {
                    (tilt_deg, now) = (next_deg, next);
                    break;
                }
                step /= 2.0;
            }
        }
        (tilt_deg, FitEnd::BudgetSpent)
    }

    /// Deviation of every joint at once, which of them are determined, and the covariance.
    fn deviations(&self, plan: &Fit) -> (Vec<f64>, Vec<bool>, Vec<Vec<f64>>) {
        const STEP_DEG: f64 = 1e-4;
        let joints = self.hang.splays_deg.len();
        let follows = plan.end == FitEnd::FollowsFromPins;
        let mut slopes = DMatrix::zeros(self.readings.len(), joints + 1);
        let mut tilt_slopes = vec![0.0; joints + 1];
        for (unknown, tilt_slope) in tilt_slopes.iter_mut().enumerate() {
            let moved = |by: f64| {
                let mut splays_deg = self.hang.splays_deg.clone();
                let mut tilt_deg = plan.tilt_deg;
                match unknown {
                    0 if follows => (),
                    0 => tilt_deg += by,
                    joint => splays_deg[joint - 1] += by,
                }
                let rigid = self.rigid(&splays_deg);
                let tilt_deg = self.followed_tilt_deg(&rigid).unwrap_or(tilt_deg);
                let residual = self.residual(&rigid, tilt_deg);
                (DVector::from_vec(residual), tilt_deg)
            };
            let ((below, low_deg), (above, high_deg)) = (moved(-STEP_DEG), moved(STEP_DEG));
            slopes.set_column(unknown, &((below - above) / (2.0 * STEP_DEG)));
            *tilt_slope = (high_deg - low_deg) / (2.0 * STEP_DEG);
        }
        let normal = slopes.transpose() * &slopes;
        let eigen = normal.symmetric_eigen();
        let greatest = eigen.eigenvalues.max();
        let mut covariance = DMatrix::zeros(joints + 1, joints + 1);
        let mut unknown_part = vec![0.0; joints + 1];
        for (value, vector) in eigen
            .eigenvalues
            .iter()
            .zip(eigen.eigenvectors.column_iter())
        {
            if *value > UNDETERMINED * UNDETERMINED * greatest {
                covariance += vector * vector.transpose() / *value;
            } else {
                for (part, entry) in unknown_part.iter_mut().zip(vector.iter()) {
                    *part += entry * entry;
                }
            }
        }
        if follows {
            // The tilt is no unknown of its own: it moves with the joints.
            let tilt_slopes = DVector::from_vec(tilt_slopes);
            let with_joints = &covariance * &tilt_slopes;
            covariance[(0, 0)] = tilt_slopes.dot(&with_joints);
            for joint in 1..=joints {
                covariance[(0, joint)] = with_joints[joint];
                covariance[(joint, 0)] = with_joints[joint];
            }
        }
        let residual = DVector::from_column_slice(&plan.residual);
        let estimate = &covariance * slopes.transpose() * residual;
        (
            estimate.iter().skip(1).copied().collect(),
            unknown_part
                .iter()
                .skip(1)
                .map(|part| *part < 1e-6)
                .collect(),
            covariance
                .row_iter()
                .map(|row| row.iter().copied().collect())
                .collect(),
        )
    }
}
