//! Is what hangs what was planned, and if not, which joint's pin disagrees?
//!
//! Readings rᵢ ± σᵢ of inclinometers and load cells are compared with what the pose and the balance
//! of the hang predict. The frame's tilt is free, for the crew sets it. A set of pins is accepted
//! when χ² = Σ ((rᵢ − prediction)/σᵢ)², least over the tilt, stays below the quantile 1 − α of the
//! χ² distribution with (readings − 1) degrees of freedom. The plan is tested, and every hang in
//! which one joint sits in another of its positions:
//!
//! - the plan accepted: a joint is consistent when none of its other positions is accepted;
//! - the plan refused: a joint is inconsistent when one of its other positions is accepted and no
//!   other joint's is; consistent when only other joints' are;
//! - else nobody can tell.
//!
//! Besides, a least-squares estimate of every joint's deviation at once, with its covariance
//! (JᵀWJ)⁺, says which deviations the readings determine.
//!
//! Source: χ² test and weighted least squares, e.g. Bevington & Robinson, *Data Reduction and Error
//! Analysis for the Physical Sciences*, 3rd ed., ch. 4, 7 and 11.

use crate::error::{InputError, Result, accept, each, finite, positive, within_range};
use crate::model::{Hang, Valid};
use crate::pose::{Vec2, place};
use crate::statics::balance::GRAVITY_M_S2;
use nalgebra::{DMatrix, DVector, Rotation2};
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Singular values below this share of the greatest are undetermined directions.
const UNDETERMINED: f64 = 1e-7;

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
    /// The readings fit the planned pin and no other.
    Consistent,
    /// The readings fit another pin of this joint, and nothing else.
    Inconsistent,
    /// The readings do not decide.
    CannotTell,
}

/// A hang in which one joint sits in another position, accepted by the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OtherPin {
    /// The joint between cabinets, counted from 0 at the top.
    pub joint: usize,
    /// The position.
    pub splay_deg: f64,
    /// χ² of the readings.
    pub chi_square: f64,
}

/// The readings against the plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    /// χ² of the plan.
    pub chi_square: f64,
    /// Degrees of freedom.
    pub freedom: usize,
    /// Greatest χ² accepted.
    pub chi_square_limit: f64,
    /// Probability of a χ² at least as great if the plan holds.
    pub p_value: f64,
    /// Whether the readings accept the plan.
    pub plan_accepted: bool,
    /// Tilt of the frame that fits best if the plan holds.
    pub tilt_deg: f64,
    /// (reading − prediction)/uncertainty of every reading, at that tilt.
    pub residual: Vec<f64>,
    /// One a joint between cabinets.
    pub verdict: Vec<Verdict>,
    /// Accepted hangs with one other pin, best first.
    pub other_pins: Vec<OtherPin>,
    /// Estimated deviation of each joint's splay from plan, all at once.
    pub deviation_deg: Vec<f64>,
    /// Which of them the readings determine.
    pub determined: Vec<bool>,
    /// Covariance of (tilt, deviations).
    pub covariance_deg2: Vec<Vec<f64>>,
}

/// Compares readings with the planned hang.
///
/// # Errors
/// No reading, a reading of something that is not there or out of bounds, loads without picks, or a
/// significance not between 0 and 1.
pub fn survey(
    hang: &Valid<Hang>,
    planned_tilt_deg: f64,
    pick_x_m: &[f64],
    readings: &[Reading],
    significance: f64,
) -> Result<Survey> {
    within_range("tilt_deg", planned_tilt_deg, -80.0, 80.0)?;
    check(hang, pick_x_m, readings)?;
    accept(
        significance > 0.0 && significance < 1.0,
        "significance",
        significance,
        "a number between 0 and 1",
    )?;
    let model = Model {
        hang,
        pick_x_m,
        readings,
    };
    let freedom = readings.len() - 1;
    let distribution = ChiSquared::new(freedom.max(1) as f64)
        .map_err(|error| InputError::new("readings", freedom, error))?;
    let chi_square_limit = distribution.inverse_cdf(1.0 - significance);
    let plan = model.fit(&hang.splays_deg, planned_tilt_deg);
    let plan_accepted = plan.chi_square <= chi_square_limit;

    let joints = hang.splays_deg.len();
    let mut other_pins = Vec::new();
    for joint in 0..joints {
        for &splay_deg in hang.positions_deg(joint) {
            if (splay_deg - hang.splays_deg[joint]).abs() < 1e-9 {
                continue;
            }
            let mut splays_deg = hang.splays_deg.clone();
            splays_deg[joint] = splay_deg;
            let chi_square = model.fit(&splays_deg, plan.tilt_deg).chi_square;
            if chi_square <= chi_square_limit {
                other_pins.push(OtherPin {
                    joint,
                    splay_deg,
                    chi_square,
                });
            }
        }
    }
    other_pins.sort_by(|a, b| a.chi_square.total_cmp(&b.chi_square));
    let fits_elsewhere = |joint: usize| other_pins.iter().any(|pin| pin.joint == joint);
    let verdict = (0..joints)
        .map(|joint| {
            let here = fits_elsewhere(joint);
            let others = (0..joints).any(|other| other != joint && fits_elsewhere(other));
            match (freedom, plan_accepted, here, others) {
                (0, ..) => Verdict::CannotTell,
                (_, true, false, _) | (_, false, false, true) => Verdict::Consistent,
                (_, false, true, false) => Verdict::Inconsistent,
                _ => Verdict::CannotTell,
            }
        })
        .collect();
    let (deviation_deg, determined, covariance_deg2) = model.deviations(&plan);
    Ok(Survey {
        chi_square: plan.chi_square,
        freedom,
        chi_square_limit,
        p_value: if freedom == 0 {
            1.0
        } else {
            distribution.sf(plan.chi_square)
        },
        plan_accepted,
        tilt_deg: plan.tilt_deg,
        residual: plan.residual,
        verdict,
        other_pins,
        deviation_deg,
        determined,
        covariance_deg2,
    })
}

fn check(hang: &Hang, pick_x_m: &[f64], readings: &[Reading]) -> Result<()> {
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

struct Fit {
    tilt_deg: f64,
    chi_square: f64,
    residual: Vec<f64>,
}

impl Model<'_> {
    /// Every reading as predicted.
    fn predict(&self, splays_deg: &[f64], tilt_deg: f64) -> Vec<f64> {
        let pose = place(self.hang, splays_deg, tilt_deg, 0.0);
        let turn = Rotation2::new(pose.frame_axis_rad);
        let pick = |x: f64| turn * Vec2::new(x, self.hang.frame.pick_z_m);
        let weight_n = pose.mass_kg * GRAVITY_M_S2;
        let loads_n = match *self.pick_x_m {
            [first, second] => {
                let (first, second) = (pick(first), pick(second));
                let first_n = weight_n * (pose.cg_m.x - second.x) / (first.x - second.x);
                [first_n, weight_n - first_n]
            }
            _ => [weight_n, 0.0],
        };
        self.readings
            .iter()
            .map(|reading| match reading.what {
                Quantity::FrameAngle => tilt_deg,
                Quantity::CabinetAngle(cabinet) => pose.axis_rad[cabinet].to_degrees(),
                Quantity::HoistLoad(hoist) => loads_n[hoist],
            })
            .collect()
    }

    fn residual(&self, splays_deg: &[f64], tilt_deg: f64) -> Vec<f64> {
        self.readings
            .iter()
            .zip(self.predict(splays_deg, tilt_deg))
            .map(|(reading, predicted)| (reading.value - predicted) / reading.uncertainty)
            .collect()
    }

    /// The tilt of least χ², by Gauss and Newton.
    fn fit(&self, splays_deg: &[f64], from_deg: f64) -> Fit {
        const STEP_DEG: f64 = 1e-4;
        let mut tilt_deg = from_deg;
        for _ in 0..30 {
            let residual = self.residual(splays_deg, tilt_deg);
            let above = self.residual(splays_deg, tilt_deg + STEP_DEG);
            let below = self.residual(splays_deg, tilt_deg - STEP_DEG);
            let (mut slope_square, mut slope_residual) = (0.0, 0.0);
            for ((here, above), below) in residual.iter().zip(above).zip(below) {
                let slope = (above - below) / (2.0 * STEP_DEG);
                slope_square += slope * slope;
                slope_residual += slope * here;
            }
            if slope_square == 0.0 {
                break;
            }
            let change = (-slope_residual / slope_square).clamp(-10.0, 10.0);
            tilt_deg = (tilt_deg + change).clamp(-85.0, 85.0);
            if change.abs() < 1e-10 {
                break;
            }
        }
        let residual = self.residual(splays_deg, tilt_deg);
        Fit {
            tilt_deg,
            chi_square: residual.iter().map(|r| r * r).sum(),
            residual,
        }
    }

    /// Deviation of every joint at once, which of them are determined, and the covariance.
    fn deviations(&self, plan: &Fit) -> (Vec<f64>, Vec<bool>, Vec<Vec<f64>>) {
        const STEP_DEG: f64 = 1e-4;
        let joints = self.hang.splays_deg.len();
        let mut slopes = DMatrix::zeros(self.readings.len(), joints + 1);
        for unknown in 0..=joints {
            let moved = |by: f64| {
                let mut splays_deg = self.hang.splays_deg.clone();
                let mut tilt_deg = plan.tilt_deg;
                match unknown {
                    0 => tilt_deg += by,
                    joint => splays_deg[joint - 1] += by,
                }
                DVector::from_vec(self.residual(&splays_deg, tilt_deg))
            };
            let slope = (moved(-STEP_DEG) - moved(STEP_DEG)) / (2.0 * STEP_DEG);
            slopes.set_column(unknown, &slope);
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
