//! A random walk that cools: it crosses ridges that stop a descent.
//!
//! S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated annealing", Science 220
//! (1983), with a temperature in proportion to the spread, so that even hangs and uneven ones are
//! walked alike.

use super::candidate::Candidate;
use super::constraints::violation;
use super::descent::{Score, Scored};
use super::evaluator::Evaluator;
use super::handle::Handle;
use super::moves;
use super::problem::Problem;
use crate::error::Result;
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng, SeedableRng};

/// Decibels that missing a constraint by all of its bound counts as.
const MISS_DB: f64 = 30.0;

/// How a walk cools: its length, and the temperatures at its ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Cooling {
    pub steps: f64,
    pub hot: f64,
    pub cold: f64,
}

impl Cooling {
    /// The same in at most so many steps.
    pub(super) fn within(self, most: f64) -> Self {
        Self {
            // The start is heard as well.
            steps: self.steps.min((most - 1.0).max(0.0)).floor(),
            ..self
        }
    }

    /// The same in `factor` times as many steps.
    pub(super) fn longer(self, factor: f64) -> Self {
        Self {
            steps: (self.steps * factor).floor(),
            ..self
        }
    }
}

/// The best candidate of a walk from `start`; what is likely too much by the seats heard so far is heard
/// no further. A step to a candidate whose objective is greater by
/// d is taken with probability e^{−d/(T s)}, s being the spread here. T falls geometrically from hot
/// to cold.
pub(super) fn anneal(
    problem: &Problem<'_>,
    handle: &Handle,
    start: Candidate,
    cooling: Cooling,
    seed: u64,
) -> Result<Scored> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut evaluator = Evaluator::new(problem);
    let laid = problem.lay(start);
    handle.count(1);
    let score = Score::of(problem, &mut evaluator, &laid)?;
    let mut here = Scored {
        candidate: laid.candidate.clone(),
        score,
    };
    let mut best = here.clone();
    evaluator.mark();
    evaluator.rebase(laid);
    let fall = (cooling.cold / cooling.hot).ln() / cooling.steps.max(1.0);
    for step in 0..cooling.steps as u64 {
        if handle.must_stop() {
            break;
        }
        let Some(candidate) = moves::random(&here.candidate, &problem.variables, &mut random)
        else {
            continue;
        };
        let temperature = cooling.hot * (fall * step as f64).exp();
        let uniform = (random.next_u64() >> 11) as f64 / (1u64 << 53) as f64;
        let scale_db = temperature * here.score.spread_db;
        let most_db = penalised_db(here.score) - scale_db * (1.0 - uniform).ln();
        let laid = problem.lay(candidate);
        handle.count(1);
        let Some(heard) = evaluator.hear_likely_within(&laid, most_db)? else {
            continue;
        };
        let score = Score::of_heard(&heard);
        if penalised_db(score) > most_db {
            continue;
        }
        let score = score.missing(violation(&problem.mechanics(&laid)?.margins));
        if penalised_db(score) > most_db {
            continue;
        }
        here = Scored {
            candidate: laid.candidate.clone(),
            score,
        };
        evaluator.mark();
        evaluator.rebase(laid);
        best = best.better(here.clone());
    }
    Ok(best)
}

fn penalised_db(score: Score) -> f64 {
    score.objective_db + MISS_DB * score.violation
}
