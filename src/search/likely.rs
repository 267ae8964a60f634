//! Is an objective likely to be too much, to go by the seats known so far?
//!
//! Where the same seats are known of a candidate whose objective is known as well, the two differ
//! over all seats by about as much as over those, d. After k of n equal stretches of the seats, each
//! of which has some from all over, this errs like the mean of a part of a list: in proportion to
//! √(1/k − 1/n) (W. G. Cochran, "Sampling Techniques", 3rd ed., 1977, ch. 2), and to how much the
//! candidates differ at all, for which |d| and a small share of the spread stand.
//!
//! A walk loses by it a few of the steps it would have taken, most of them uphill, and hears half of
//! the seats.

/// Share of the spread by which candidates differ that seem alike so far.
const ALIKE: f64 = 0.1;

/// The objective of one candidate by the seats known after each stretch of them.
#[derive(Clone, Debug, Default)]
pub(super) struct Trail {
    objective_db: Vec<f64>,
    spread_db: f64,
}

impl Trail {
    pub(super) fn clear(&mut self) {
        self.objective_db.clear();
    }

    pub(super) fn push(&mut self, objective_db: f64, spread_db: f64) {
        self.objective_db.push(objective_db);
        self.spread_db = spread_db;
    }

    /// The least that the objective of `other` is likely to be in the end, this one being known to the
    /// end; no bound where this one is not, or the other is.
    pub(super) fn likely_least_db(&self, other: &Self) -> f64 {
        let (known, all) = (other.objective_db.len(), self.objective_db.len());
        if !(1..all).contains(&known) {
            return f64::NEG_INFINITY;
        }
        let off_db = other.objective_db[known - 1] - self.objective_db[known - 1];
        let share = (1.0 / known as f64 - 1.0 / all as f64).sqrt();
        self.objective_db[all - 1] + off_db - share * (ALIKE * self.spread_db + off_db.abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_pcg::Pcg64Mcg;
    use rand_pcg::rand_core::{Rng, SeedableRng};

    fn trail(objective_db: &[f64]) -> Trail {
        let mut trail = Trail::default();
        for &objective in objective_db {
            trail.push(objective, 1.0);
        }
        trail
    }

    #[test]
    fn nothing_is_likely_before_the_first_stretch_or_after_the_last() {
        let marked = trail(&[1.0, 2.0]);
        assert_eq!(marked.likely_least_db(&trail(&[])), f64::NEG_INFINITY);
        assert_eq!(
            marked.likely_least_db(&trail(&[9.0, 9.0])),
            f64::NEG_INFINITY
        );
        assert_eq!(
            Trail::default().likely_least_db(&trail(&[9.0])),
            f64::NEG_INFINITY
        );
        assert!(marked.likely_least_db(&trail(&[9.0])) > 2.0);
    }

    /// Cochran's error of the mean of k out of n values, √((1/k − 1/n) S²), S² their variance
    /// over n − 1 (from memory): means over parts of shuffled lists are off by that.
    #[test]
    fn a_part_of_a_list_errs_in_the_proportion_allowed_for() {
        let mut random = Pcg64Mcg::seed_from_u64(8);
        let mut uniform = || (random.next_u64() >> 11) as f64 / (1u64 << 53) as f64;
        let (all, lists) = (10, 4000);
        let mut square = [0.0; 10];
        for _ in 0..lists {
            let values: Vec<f64> = (0..all).map(|_| 12f64.sqrt() * (uniform() - 0.5)).collect();
            let mean = values.iter().sum::<f64>() / all as f64;
            let mut sum = 0.0;
            for (known, value) in values.iter().enumerate() {
                sum += value;
                square[known] += (sum / (known + 1) as f64 - mean).powi(2) / f64::from(lists);
            }
        }
        for known in 1..all {
            let share = (1.0 / known as f64 - 1.0 / all as f64).sqrt();
            // 4,000 lists tell an error to about 1.1 %; three times that, and a little.
            approx::assert_relative_eq!(square[known - 1].sqrt(), share, max_relative = 0.04);
            let marked = trail(&vec![0.0; all]);
            let least_db = marked.likely_least_db(&trail(&vec![1.0; known]));
            approx::assert_relative_eq!(1.0 - least_db, share * (1.0 + ALIKE), epsilon = 1e-12);
        }
    }
}
