//! Newton steps and descent of gravity energy at a held chain length.
//!
//! At length ℓ the free joints F satisfy U_F + T L_F = 0 and L = ℓ. One joint p of F is led by the
//! length, dθ_p = (dℓ − Σ L_i dθ_i) / L_p, the others y by Newton on the reduced curvature
//! R = Zᵀ(U″ + T L″)Z (null-space method; Nocedal & Wright, Numerical Optimization, 2nd ed., 16.2).
//! R positive definite is stability at that length; where it is not, the hang snaps to where the
//! energy falls, found by descent along the surface L = ℓ.

use super::mechanism::Mechanism;
use super::state::State;

/// Which bound a joint rests on, if any.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Rest {
    /// The open limit.
    Open,
    /// Between its bounds.
    Free,
    /// The stop.
    Stop,
}

/// A direction in the free joints and the chain force that goes with it.
pub(crate) struct Step {
    pub change_rad: Vec<f64>,
    pub force_n: f64,
}

/// Why no step could be taken.
pub(crate) enum NoStep {
    /// No free joint changes the chain length.
    NoLever,
    /// The curvature is not positive along this direction, at constant chain length.
    Unstable(Vec<f64>),
}

/// The pieces of the reduced system, kept between calls so that a step allocates little.
#[derive(Default)]
pub(crate) struct Reducer {
    free: Vec<usize>,
    matrix: Vec<f64>,
    rhs: Vec<f64>,
    /// Lever over the led joint's, and curvature with the led joint, of each free joint.
    ratio: Vec<(f64, f64)>,
}

impl Reducer {
    /// The Newton step of the joints that `rests` leaves free to the chain length `chain_m`.
    pub fn step(
        &mut self,
        state: &State,
        rests: &[Rest],
        force_n: f64,
        chain_m: f64,
    ) -> Result<Step, NoStep> {
        self.step_with_shift(state, rests, force_n, chain_m, 0.0)
    }

    /// As [`Self::step`], with `shift_nm` added to the reduced curvature's diagonal.
    pub fn step_with_shift(
        &mut self,
        state: &State,
        rests: &[Rest],
        force_n: f64,
        chain_m: f64,
        shift_nm: f64,
    ) -> Result<Step, NoStep> {
        let lever = &state.lever_m;
        self.free.clear();
        self.free
            .extend((0..rests.len()).filter(|&joint| rests[joint] == Rest::Free));
        let Some(place) = (0..self.free.len()).max_by(|&a, &b| {
            lever[self.free[a]]
                .abs()
                .total_cmp(&lever[self.free[b]].abs())
        }) else {
            return Err(NoStep::NoLever);
        };
        if lever[self.free[place]] == 0.0 {
            return Err(NoStep::NoLever);
        }
        let led = self.free.swap_remove(place);
        let size = self.free.len();
        let change = (chain_m - state.chain_m) / lever[led];
        let curvature = |a: usize, b: usize| state.curvature_nm(a, b, force_n);
        let led_curvature = curvature(led, led);
        self.matrix.clear();
        self.matrix.resize(size * size, 0.0);
        self.rhs.clear();
        self.ratio.clear();
        self.ratio.extend(
            self.free
                .iter()
                .map(|&joint| (lever[joint] / lever[led], curvature(led, joint))),
        );
        for (row, &a) in self.free.iter().enumerate() {
            let (ratio_a, led_a) = self.ratio[row];
            for (column, &b) in self.free[..=row].iter().enumerate() {
                let (ratio_b, led_b) = self.ratio[column];
                self.matrix[row * size + column] =
                    curvature(a, b) - ratio_a * led_b - ratio_b * led_a
                        + ratio_a * ratio_b * led_curvature;
            }
            self.matrix[row * size + row] += shift_nm;
            let slope = state.load_nm[a] - ratio_a * state.load_nm[led];
            self.rhs
                .push(-(slope + change * (led_a - ratio_a * led_curvature)));
        }
        let lead = |others: &[f64], offset: f64| {
            let sum: f64 = self
                .free
                .iter()
                .zip(others)
                .map(|(&joint, y)| lever[joint] * y)
                .sum();
            offset - sum / lever[led]
        };
        let spread = |others: &[f64], led_change: f64| {
            let mut all = vec![0.0; rests.len()];
            for (&joint, y) in self.free.iter().zip(others) {
                all[joint] = *y;
            }
            all[led] = led_change;
            all
        };
        if let Err(failed) = factor(&mut self.matrix, size) {
            let falling = falling_direction(&self.matrix, size, failed);
            return Err(NoStep::Unstable(spread(&falling, lead(&falling, 0.0))));
        }
        solve(&self.matrix, size, &mut self.rhs);
        let change_rad = spread(&self.rhs, lead(&self.rhs, change));
        let bend: f64 = (0..rests.len())
            .filter(|&joint| change_rad[joint] != 0.0)
            .map(|joint| curvature(led, joint) * change_rad[joint])
            .sum();
        Ok(Step {
            force_n: -(state.load_nm[led] + bend) / lever[led],
            change_rad,
        })
    }
}

impl Reducer {
    /// The Newton step of the joints that `rests` leaves free, at constant chain force.
    pub fn step_at_force(
        &mut self,
        state: &State,
        rests: &[Rest],
        force_n: f64,
        shift_nm: f64,
    ) -> Result<Step, NoStep> {
        self.free.clear();
        self.free
            .extend((0..rests.len()).filter(|&joint| rests[joint] == Rest::Free));
        let size = self.free.len();
        self.matrix.clear();
        self.matrix.resize(size * size, 0.0);
        self.rhs.clear();
        for (row, &a) in self.free.iter().enumerate() {
            for (column, &b) in self.free[..=row].iter().enumerate() {
                self.matrix[row * size + column] = state.curvature_nm(a, b, force_n);
            }
            self.matrix[row * size + row] += shift_nm;
            self.rhs.push(-state.slope_nm(a, force_n));
        }
        let spread = |values: &[f64]| {
            let mut all = vec![0.0; rests.len()];
            for (&joint, value) in self.free.iter().zip(values) {
                all[joint] = *value;
            }
            all
        };
        if let Err(failed) = factor(&mut self.matrix, size) {
            let falling = falling_direction(&self.matrix, size, failed);
            return Err(NoStep::Unstable(spread(&falling)));
        }
        solve(&self.matrix, size, &mut self.rhs);
        Ok(Step {
            change_rad: spread(&self.rhs),
            force_n,
        })
    }
}

/// Cholesky factor of the lower triangle in place; the index of the first pivot that is not
/// positive otherwise.
fn factor(matrix: &mut [f64], size: usize) -> Result<(), usize> {
    let scale = (0..size)
        .map(|i| matrix[i * size + i].abs())
        .fold(0.0, f64::max);
    for row in 0..size {
        for column in 0..=row {
            let mut sum = matrix[row * size + column];
            for k in 0..column {
                sum -= matrix[row * size + k] * matrix[column * size + k];
            }
            if row == column {
                if sum <= 1e-13 * scale {
                    return Err(row);
                }
                matrix[row * size + row] = sum.sqrt();
            } else {
                matrix[row * size + column] = sum / matrix[column * size + column];
            }
        }
    }
    Ok(())
}

fn solve(factor: &[f64], size: usize, rhs: &mut [f64]) {
    for row in 0..size {
        for k in 0..row {
            rhs[row] -= factor[row * size + k] * rhs[k];
        }
        rhs[row] /= factor[row * size + row];
    }
    back_substitute(factor, size, rhs);
}

fn back_substitute(factor: &[f64], size: usize, rhs: &mut [f64]) {
    for row in (0..rhs.len()).rev() {
        for k in row + 1..rhs.len() {
            rhs[row] -= factor[k * size + row] * rhs[k];
        }
        rhs[row] /= factor[row * size + row];
    }
}

/// A direction of no positive curvature, from a factor that failed at pivot `failed`:
/// (−A⁻¹a, 1) with A the leading block and a its column.
fn falling_direction(factor: &[f64], size: usize, failed: usize) -> Vec<f64> {
    let mut direction: Vec<f64> = (0..failed).map(|k| -factor[failed * size + k]).collect();
    back_substitute(factor, size, &mut direction);
    direction.push(1.0);
    direction.resize(size, 0.0);
    direction
}

/// The joints' rests at `angle_rad`, by their bounds.
pub(crate) fn rests_at(mechanism: &Mechanism, angle_rad: &[f64]) -> Vec<Rest> {
    mechanism
        .travels
        .iter()
        .zip(angle_rad)
        .map(|(travel, &angle)| {
            if angle >= travel.stop_rad {
                Rest::Stop
            } else if angle <= travel.open_rad {
                Rest::Open
            } else {
                Rest::Free
            }
        })
        .collect()
}

/// How far a slope pushes a resting joint off its bound; positive wants to leave.
pub(crate) fn urge_nm(rest: Rest, slope_nm: f64) -> f64 {
    match rest {
        Rest::Open => -slope_nm,
        Rest::Stop => slope_nm,
        Rest::Free => 0.0,
    }
}
