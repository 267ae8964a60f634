//! From many rough starts to one settled hang.
//!
//! A [`Heat`] runs from many starts to a few ends, and from its best end cooler walks and descents
//! polish the answer. Where no two runs ended with the best, another heat is run from other starts,
//! for that runs which start apart end together is what tells that an answer is settled.

use super::answer::Found;
use super::descent::Scored;
use super::handle::Handle;
use super::heat::{Heat, agree, best_of};
use super::problem::Problem;
use super::status::Status;
use crate::error::Result;

/// Heats, at the most.
const MOST_HEATS: u64 = 4;

/// Where the best of the runs ended, and where all did; at most `most` evaluations are made.
pub(super) fn race(
    problem: &Problem<'_>,
    straight: &Scored,
    seed: u64,
    most: u64,
    handle: &Handle,
) -> Result<(Found, Vec<Scored>)> {
    let heat = Heat::new(problem, straight, handle)?;
    let before = handle.evaluations();
    let left = || most.saturating_sub(handle.evaluations() - before);
    let (mut runs, mut polished) = (Vec::new(), Vec::new());
    let mut best: Option<Scored> = None;
    for number in 0..MOST_HEATS {
        // A heat with less than half of what the first one had would be a poorer one.
        let last = left() < most / 2 || handle.must_stop() || agree(&runs, best.as_ref());
        if number > 0 && last {
            break;
        }
        let seed = seed.wrapping_add(number << 32);
        heat.run(seed, left(), &mut runs)?;
        let ended = best_of(&runs).filter(|end| better_than(end, best.as_ref()));
        if let Some(ended) = ended {
            polished.extend(heat.polish(&ended, seed, left(), &runs)?);
        }
        best = best_of(runs.iter().chain(&polished));
    }
    let settled = runs.iter().chain(&polished).all(|end| end.settled);
    let ending = match () {
        () if !settled => Status::BudgetSpent,
        () if agree(&runs, best.as_ref()) => Status::Settled,
        () => Status::Unsettled,
    };
    let runs_db: Vec<f64> = runs.iter().map(|end| end.best.score.objective_db).collect();
    let ends: Vec<Scored> = runs
        .into_iter()
        .chain(polished)
        .map(|end| end.best)
        .collect();
    let best = best.unwrap_or_else(|| straight.clone());
    Ok((Found::new(best, ending, runs_db), ends))
}

fn better_than(end: &Scored, best: Option<&Scored>) -> bool {
    best.is_none_or(|best| end.score.betters(best.score))
}
