//! A random walk that cools: it crosses ridges that stop a descent.
//!
//! S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated annealing", Science 220
//! (1983), with the objective on a logarithmic scale.

use super::Handle;
use super::candidate::Candidate;
use super::constraints::violation;
use super::descent::{Score, Scored};
use super::evaluator::Evaluator;
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
    /// The same in `factor` times as many steps.
    pub(super) fn longer(self, factor: f64) -> Self {
        Self {
            steps: (self.steps * factor).floor(),
            ..self
        }
    }
}

/// The best candidate of a walk from `start`. A step to a candidate whose objective is x times as
/// great is taken with probability x^{−1/T}: the same for uneven hangs as for even ones. T falls
/// geometrically from hot to cold.
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
        let most_db = penalised_db(here.score) * (1.0 - uniform).powf(-temperature);
        let laid = problem.lay(candidate);
        handle.count(1);
        let Some(heard) = evaluator.hear_within(&laid, most_db)? else {
            continue;
        };
        let mut score = Score {
            violation: violation(&heard.margins),
            objective_db: heard.objective_db,
        };
        if penalised_db(score) > most_db {
            continue;
        }
        score.violation += violation(&problem.mechanics(&laid)?.margins);
        if penalised_db(score) > most_db {
            continue;
        }
        here = Scored {
            candidate: laid.candidate.clone(),
            score,
        };
        evaluator.rebase(laid);
        best = best.better(here.clone());
    }
    Ok(best)
}

fn penalised_db(score: Score) -> f64 {
    score.objective_db + MISS_DB * score.violation
}
