//! From many rough starts to one settled hang.
//!
//! Walks that cool ([`anneal`]) run among sketches: short cold ones from every start, then long hot
//! ones from the best. The best of all are walked once more with all seats, and the best of those
//! are heard in full and descended from until no move betters them ([`Descent`]).

use super::anneal::{Cooling, anneal};
use super::candidate::Candidate;
use super::descent::{Descent, Kicks, Score, Scored};
use super::detail::Detail;
use super::evaluator::Evaluator;
use super::problem::Problem;
use super::starts::starts;
use super::{Handle, Options, Status};
use crate::error::Result;
use rayon::prelude::*;
use std::collections::HashSet;

/// Walks that go on and how they cool, round by round. The first is cold: it only finds the floor
/// of each start's own valley. Steps are for a hang of [`USUAL_JOINTS`].
const ROUNDS: [(usize, Cooling); 2] = [
    (
        usize::MAX,
        Cooling {
            steps: 400.0,
            hot: 0.03,
            cold: 0.005,
        },
    ),
    (
        4,
        Cooling {
            steps: 4000.0,
            hot: 0.2,
            cold: 0.03,
        },
    ),
];

/// The walks with all seats.
const NEAR_WALKS: usize = 4;
const NEAR: Cooling = Cooling {
    steps: 1500.0,
    hot: 0.03,
    cold: 0.002,
};

/// Joints of a hang of usual length. Longer hangs have more to be found, and shorter ones cost less
/// a step: both are walked longer, by a power of how far they are from the usual, up to so much.
const USUAL_JOINTS: f64 = 15.0;
const GROWTH: i32 = 3;
const MOST_GROWTH: f64 = 4.0;

/// Descents in full at least, and at most where disturbances are cheap.
const DESCENTS: usize = 2;
const MOST_DESCENTS: usize = 6;

/// Work worth spending on disturbances: a descent tries about (number of joints)² moves, each of
/// as many cabinets.
const KICK_WORK: usize = 3300;
const MOST_KICKS: usize = 10;

/// Share of a budget that walks may use.
const WALKS_SHARE: f64 = 0.75;

/// What a budget leaves of the race.
struct Plan {
    /// Factor on the steps of every walk.
    walks: f64,
    kicks: Kicks,
    descents: usize,
    /// Evaluations each descent may make.
    share: Option<u64>,
    within_budget: bool,
}

impl Plan {
    fn new(joints: usize, starts: usize, options: Options) -> Self {
        let length = joints.max(1) as f64 / USUAL_JOINTS;
        let growth = length.max(1.0 / length).powi(GROWTH).min(MOST_GROWTH);
        let walked: f64 = ROUNDS
            .iter()
            .map(|(walks, cooling)| (*walks).min(starts) as f64 * cooling.steps)
            .sum::<f64>()
            + NEAR_WALKS as f64 * NEAR.steps;
        let kicks = (KICK_WORK / joints.pow(3).max(1)).min(MOST_KICKS);
        let descents = (DESCENTS + kicks).min(MOST_DESCENTS);
        let left = options
            .budget_evaluations
            .map_or(1.0, |b| WALKS_SHARE * b as f64 / (growth * walked));
        Self {
            walks: growth * left.min(1.0),
            kicks: Kicks {
                count: kicks,
                seed: options.seed,
            },
            descents,
            share: options
                .budget_evaluations
                .map(|b| ((1.0 - WALKS_SHARE) * b as f64) as u64 / descents as u64),
            within_budget: left >= 1.0,
        }
    }
}

/// The best hang of a race, and whether it settled.
pub(super) fn race(
    problem: &Problem<'_>,
    straight: &Scored,
    options: Options,
    handle: &Handle,
) -> Result<(Scored, Status)> {
    let sketch = Problem::new(problem.study, Detail::sketch(problem.study))?;
    let near = Problem::new(problem.study, Detail::near(problem.study))?;
    let mut runners = starts(&sketch, straight, options.seed, handle)?;
    let joints = problem.variables.positions_deg.len();
    let plan = Plan::new(joints, runners.len(), options);

    // The starts themselves stay in the race: a sketch may wrong them.
    let mut pool = runners.clone();
    for (round, (walks, cooling)) in ROUNDS.into_iter().enumerate() {
        runners.truncate(walks);
        let seed = options.seed.wrapping_add(1000 * (1 + round as u64));
        runners = cooled(&sketch, handle, runners, cooling.longer(plan.walks), seed)?;
        pool.extend(runners.iter().cloned());
    }
    let runners = best_heard(&near, pool.clone(), NEAR_WALKS, handle)?;
    let cooling = NEAR.longer(plan.walks);
    pool.extend(cooled(&near, handle, runners, cooling, options.seed)?);

    let finalists = best_heard(problem, pool, plan.descents, handle)?;
    let ends = finalists
        .into_par_iter()
        .enumerate()
        .map(|(index, start)| {
            let seed = plan.kicks.seed.wrapping_add(1 + index as u64);
            let kicks = Kicks { seed, ..plan.kicks };
            Descent::new(problem, handle, plan.share).walk(start, kicks)
        })
        .collect::<Result<Vec<_>>>()?;
    let settled = plan.within_budget && ends.iter().all(|end| end.settled);
    let best = ends.into_iter().map(|end| end.best).reduce(Scored::better);
    let status = if settled {
        Status::Settled
    } else {
        Status::BudgetSpent
    };
    Ok((best.unwrap_or_else(|| straight.clone()), status))
}

/// The best candidate of a walk from each start, best first, each once.
fn cooled(
    problem: &Problem<'_>,
    handle: &Handle,
    starts: Vec<Candidate>,
    cooling: Cooling,
    seed: u64,
) -> Result<Vec<Candidate>> {
    let ends = starts
        .into_par_iter()
        .enumerate()
        .map(|(index, start)| {
            let seed = seed.wrapping_add(index as u64);
            anneal(problem, handle, start, cooling, seed)
        })
        .collect::<Result<Vec<_>>>()?;
    Ok(ranked(ends))
}

/// The best of some candidates as this problem hears them, best first.
fn best_heard(
    problem: &Problem<'_>,
    mut candidates: Vec<Candidate>,
    count: usize,
    handle: &Handle,
) -> Result<Vec<Candidate>> {
    let mut seen = HashSet::new();
    candidates.retain(|candidate| seen.insert(candidate.clone()));
    handle.count(candidates.len() as u64);
    let heard = candidates
        .into_par_iter()
        .map(|candidate| {
            let laid = problem.lay(candidate);
            Ok(Scored {
                score: Score::of(problem, &mut Evaluator::new(problem), &laid)?,
                candidate: laid.candidate,
            })
        })
        .collect::<Result<Vec<_>>>()?;
    let mut best = ranked(heard);
    best.truncate(count);
    Ok(best)
}

/// Best first, the first of equals first; none twice.
fn ranked(mut scored: Vec<Scored>) -> Vec<Candidate> {
    scored.sort_by(|a, b| a.score.order(b.score));
    scored.dedup_by(|next, kept| next.candidate == kept.candidate);
    scored.into_iter().map(|end| end.candidate).collect()
}
