//! How is a load shared among supports that only pull?
//!
//! min Σ (rᵢ²/2kᵢ − hᵢ rᵢ) with Σ rᵢ aᵢ = b and r ≥ 0: of all pulls in balance those of least energy,
//! with spring rates kᵢ and each support hᵢ too short. It is strictly convex, so the answer is one,
//! and the dual active-set method finds it exactly in finitely many steps: rᵢ ≥ 0, gapᵢ ≥ 0,
//! rᵢ gapᵢ = 0.
//!
//! Source: D. Goldfarb, A. Idnani, *A numerically stable dual method for solving strictly convex
//! quadratic programs*, Mathematical Programming 27 (1983) 1–33; here H = diag(1/k) and the only
//! inequalities are r ≥ 0, so that every step is a 3 × 3 system, with no allocation. That is why it
//! is our own: an interior-point crate stops at a gap of about 1e-8, allocates its sparse factors
//! anew, and a run of cases solves a million of these.

use super::tolerances::{BALANCED, ROUNDING};
use nalgebra::{Cholesky, Const, Matrix3, Vector3};

/// The programme but for its balance.
#[derive(Clone, Copy, Debug)]
pub struct Programme<'a> {
    /// aᵢ, the first entry 1.
    pub rows: &'a [Vector3<f64>],
    /// Whether every row's second, and third, entry is 0.
    pub flat: [bool; 2],
    /// kᵢ.
    pub rates: &'a [f64],
    /// hᵢ.
    pub offsets: &'a [f64],
}

/// Room for one solution, used again for the next.
#[derive(Clone, Debug, Default)]
pub struct Work {
    /// rᵢ.
    pub pull: Vec<f64>,
    /// What the pulls leave of b, over the load's size.
    pub residual: f64,
    slack: Vec<bool>,
    gap: Vec<f64>,
}

impl Programme<'_> {
    /// Puts the pulls into `work`; false where no pulls balance b to [`BALANCED`]. `size` is that of the
    /// load.
    #[must_use]
    pub fn solve(&self, balance: &Vector3<f64>, size: f64, work: &mut Work) -> bool {
        let count = self.rows.len();
        work.slack.clear();
        work.slack.resize(count, false);
        work.gap.clear();
        work.gap.resize(count, 0.0);
        work.pull.clear();
        work.pull.resize(count, 0.0);
        let Some(matrix) = self.matrix(&work.slack) else {
            return false;
        };
        self.free_pulls(&matrix, balance, work);
        // Each pass adds one support to the slack ones for good or proves that nothing balances; the
        // bound only guards against rounding.
        for _ in 0..4 * count * count + 8 {
            let scale = work.pull.iter().fold(size, |top, p| top.max(p.abs()));
            let pushing = (0..count)
                .filter(|&i| !work.slack[i] && work.pull[i] < -ROUNDING * scale)
                .min_by(|&a, &b| work.pull[a].total_cmp(&work.pull[b]));
            let Some(pushing) = pushing else {
                return self.polish(balance, scale, work);
            };
            if !self.let_go(pushing, work) {
                return false;
            }
        }
        false
    }

    /// Makes support `pushing` slack, taking back others that the step would pull open.
    fn let_go(&self, pushing: usize, work: &mut Work) -> bool {
        for _ in 0..=self.rows.len() {
            let Some(matrix) = self.matrix(&work.slack) else {
                return false;
            };
            let turn = matrix.solve(&(self.rows[pushing] * self.rates[pushing]));
            let rate = |i: usize| {
                let own = if i == pushing { 1.0 } else { 0.0 };
                self.rates[i] * (own - self.rows[i].dot(&turn))
            };
            let own_rate = rate(pushing);
            let full = if own_rate > ROUNDING * self.rates[pushing] {
                -work.pull[pushing] / own_rate
            } else {
                f64::INFINITY
            };
            let mut step = full;
            let mut taken_back = None;
            for i in 0..self.rows.len() {
                let opening = self.rows[i].dot(&turn);
                if work.slack[i] && opening < 0.0 && -work.gap[i] / opening < step {
                    step = -work.gap[i] / opening;
                    taken_back = Some(i);
                }
            }
            if !step.is_finite() {
                return false;
            }
            for i in 0..self.rows.len() {
                if work.slack[i] {
                    work.gap[i] += step * self.rows[i].dot(&turn);
                } else if full.is_finite() {
                    work.pull[i] += step * rate(i);
                }
            }
            work.gap[pushing] += step;
            match taken_back {
                Some(i) => {
                    work.slack[i] = false;
                    work.gap[i] = 0.0;
                }
                None => {
                    work.slack[pushing] = true;
                    work.pull[pushing] = 0.0;
                    return true;
                }
            }
        }
        false
    }

    /// Σ k a aᵀ over the supports that pull, factored.
    fn matrix(&self, slack: &[bool]) -> Option<Cholesky<f64, Const<3>>> {
        let mut sum = Matrix3::zeros();
        for ((row, &rate), _) in self
            .rows
            .iter()
            .zip(self.rates)
            .zip(slack)
            .filter(|(_, slack)| !**slack)
        {
            sum += row * row.transpose() * rate;
        }
        for axis in 0..2 {
            if self.flat[axis] {
                sum[(axis + 1, axis + 1)] = sum[(0, 0)];
            }
        }
        sum.cholesky()
    }

    /// Pulls of the supports that are not slack, in balance and all of one rigid body.
    fn free_pulls(
        &self,
        matrix: &Cholesky<f64, Const<3>>,
        balance: &Vector3<f64>,
        work: &mut Work,
    ) {
        let mut side = -balance;
        for (i, row) in self.rows.iter().enumerate() {
            if !work.slack[i] {
                side += row * (self.rates[i] * self.offsets[i]);
            }
        }
        let plane = matrix.solve(&side);
        for (i, row) in self.rows.iter().enumerate() {
            work.pull[i] = if work.slack[i] {
                0.0
            } else {
                self.rates[i] * (self.offsets[i] - row.dot(&plane))
            };
        }
    }

    /// Solves once more for the supports found to pull, so that steps leave no rounding behind.
    fn polish(&self, balance: &Vector3<f64>, scale: f64, work: &mut Work) -> bool {
        let Some(matrix) = self.matrix(&work.slack) else {
            return false;
        };
        self.free_pulls(&matrix, balance, work);
        let correction = matrix.solve(&self.missing(balance, work));
        for (i, row) in self.rows.iter().enumerate() {
            if !work.slack[i] {
                work.pull[i] += self.rates[i] * row.dot(&correction);
            }
            if work.pull[i] < ROUNDING * scale {
                work.pull[i] = 0.0;
            }
        }
        work.residual = self.missing(balance, work).amax() / scale;
        work.residual <= BALANCED
    }

    /// What the pulls leave of b.
    fn missing(&self, balance: &Vector3<f64>, work: &Work) -> Vector3<f64> {
        let mut missing = *balance;
        for (row, pull) in self.rows.iter().zip(&work.pull) {
            missing -= row * *pull;
        }
        missing
    }
}
