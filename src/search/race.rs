//! From many rough starts to one settled hang.
//!
//! A [`Heat`] runs from many starts to a few ends, and the best of these that hang apart go on with
//! cooler walks and descents. Where no two runs ended with the best, another heat is run from other
//! starts, for that runs which start apart end together is what tells that an answer is settled.

use super::answer::Found;
use super::descent::Scored;
use super::ended::Ended;
use super::handle::Handle;
use super::heat::{Heat, agree, best_of};
use super::problem::Problem;
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
    let mut runs = Vec::new();
    for number in 0..MOST_HEATS {
        // A heat with less than half of what the first one had would be a poorer one.
        let last = left() < most / 2 || handle.must_stop() || agree(&runs);
        if number > 0 && last {
            break;
        }
        let seed = seed.wrapping_add(number << 32);
        heat.run(seed, left(), &mut runs)?;
        heat.polish(&mut runs, seed, left())?;
    }
    let ended = match () {
        () if !runs.iter().all(|end| end.settled) => Ended::BudgetSpent,
        () if agree(&runs) => Ended::Settled,
        () => Ended::Unsettled,
    };
    let best = best_of(&runs).unwrap_or(straight).clone();
    let runs_db = runs.iter().map(|end| end.best.score.objective_db).collect();
    let ends = runs.into_iter().map(|end| end.best).collect();
    Ok((Found::new(best, ended, runs_db), ends))
}
