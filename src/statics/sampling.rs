//! What do many random cases of one question give?
//!
//! Monte Carlo: case c draws from stream c of a ChaCha8 generator, so that the cases are the same
//! bits for any number of threads. A quantile is linear between the two nearest of the sorted cases
//! (definition 7 of Hyndman & Fan, *The American Statistician* 50, 1996).

use crate::error::{Result, accept};
use crate::threads;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// Cases between two questions whether to go on.
const BLOCK: usize = 16_384;
/// Cases a thread takes at a time.
const RUN: usize = 64;
/// Most cases of one run.
const MOST_CASES: usize = 20_000_000;

/// The draws of one case.
pub(crate) struct Draws(ChaCha8Rng);

impl Draws {
    /// A draw of the standard normal distribution.
    pub fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.0)
    }
}

/// Every case of a run.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Cases {
    /// One row of figures a case; NaN where a case has none.
    pub rows: Vec<f64>,
    /// Whether the case has an answer.
    pub answered: Vec<bool>,
}

/// Accepts a number of cases that can be run.
pub(crate) fn check_cases(cases: usize) -> Result<()> {
    accept(
        (1..=MOST_CASES).contains(&cases),
        "cases",
        cases,
        format!("1 to {MOST_CASES}"),
    )
    .map(drop)
}

/// Runs `cases` cases of `width` figures each. `case` fills its row and says whether it has an
/// answer. `go_on` is told how many are done and stops the run by returning false: then there is no
/// answer.
pub(crate) fn sample<W: Default + Send>(
    [cases, width]: [usize; 2],
    seed: u64,
    mut go_on: impl FnMut(usize) -> bool,
    case: impl Fn(&mut W, &mut Draws, &mut [f64]) -> bool + Sync,
) -> Option<Cases> {
    let base = ChaCha8Rng::seed_from_u64(seed);
    let mut rows = vec![f64::NAN; cases * width];
    let mut answered = vec![false; cases];
    let mut done = 0;
    for (rows, answered) in rows
        .chunks_mut(BLOCK * width)
        .zip(answered.chunks_mut(BLOCK))
    {
        let runs = rows.chunks_mut(RUN * width).zip(answered.chunks_mut(RUN));
        threads::map(runs.enumerate(), |(run, (rows, answered))| {
            let mut work = W::default();
            let cases = rows.chunks_mut(width).zip(answered);
            for (index, (row, answered)) in cases.enumerate() {
                let mut draws = Draws(base.clone());
                draws.0.set_stream((done + run * RUN + index) as u64);
                *answered = case(&mut work, &mut draws, row);
            }
        });
        done += answered.len();
        if !go_on(done) {
            return None;
        }
    }
    Some(Cases { rows, answered })
}

/// The quantile of sorted values, linear between neighbours.
pub(crate) fn quantile(sorted: &[f64], share: f64) -> f64 {
    let place = share * (sorted.len() - 1) as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (sorted[above] - sorted[below]) * (place - below as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn draw(cases: usize) -> Cases {
        sample(
            [cases, 2],
            7,
            |_| true,
            |(): &mut (), draws, row| {
                row[0] = draws.normal();
                row[1] = draws.normal();
                row[0] > -1.0
            },
        )
        .unwrap()
    }

    #[test]
    fn a_case_draws_the_same_however_many_there_are() {
        let (few, many) = (draw(100), draw(BLOCK + 100));
        assert_eq!(few.rows, many.rows[..200]);
        assert_eq!(few.answered, many.answered[..100]);
        assert_ne!(many.rows[..2], many.rows[2 * BLOCK..2 * BLOCK + 2]);
    }

    #[test]
    fn draws_are_standard_normal() {
        let mut values = draw(40_000).rows;
        values.sort_by(f64::total_cmp);
        // Quantiles of the normal distribution: NIST/SEMATECH e-Handbook, section 1.3.6.7.1.
        for (share, z) in [(0.025, -1.959_964), (0.5, 0.0), (0.841_345, 1.0)] {
            assert!((quantile(&values, share) - z).abs() < 0.03);
        }
    }

    #[test]
    fn a_quantile_lies_between_its_neighbours() {
        let sorted = [1.0, 2.0, 4.0];
        let at = [0.0, 0.25, 0.5, 0.75, 1.0].map(|share| quantile(&sorted, share));
        assert_eq!(at, [1.0, 1.5, 2.0, 3.0, 4.0]);
    }
}
