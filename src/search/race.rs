//! From many rough starts to one settled hang.
//!
//! Several runs, each on its own: a walk that cools ([`anneal`]) among sketches, one more with all
//! seats and more lines, and a descent in full until no move betters it ([`Descent`]). That runs
//! which start apart end together is what tells that an answer is settled.

use super::anneal::{Cooling, anneal};
use super::answer::Found;
use super::descent::{Descent, Scored};
use super::detail::Detail;
use super::handle::Handle;
use super::problem::Problem;
use super::starts::starts;
use super::status::Status;
use super::ties::AS_GOOD_DB;
use crate::error::Result;
use crate::threads;

/// Runs, of which each takes another start.
const RUNS: usize = 4;

/// Steps are for a hang of so many joints; others walk in proportion to theirs.
const USUAL_JOINTS: f64 = 11.0;

/// The walk among sketches, and that with all seats.
const SKETCHED: Cooling = Cooling {
    steps: 6000.0,
    hot: 0.06,
    cold: 0.008,
};
const NEAR: Cooling = Cooling {
    steps: 2000.0,
    hot: 0.03,
    cold: 0.003,
};

/// Shares of a run's budget: hearing the starts, walking among sketches, walking with all seats; a
/// descent has the rest.
const STARTS_SHARE: f64 = 0.1;
const SKETCHED_SHARE: f64 = 0.4;
const NEAR_SHARE: f64 = 0.2;

/// A run that may make fewer evaluations is not worth starting beside another one.
const LEAST_RUN: u64 = 100;

/// Where the best of the runs ended, and where all did; at most `most` evaluations are made.
pub(super) fn race(
    problem: &Problem<'_>,
    straight: &Scored,
    seed: u64,
    most: u64,
    handle: &Handle,
) -> Result<(Found, Vec<Scored>)> {
    let sketch = Problem::new(problem.study, Detail::sketch(problem.study))?;
    let near = Problem::new(problem.study, Detail::near(problem.study))?;
    let runs = RUNS.min((most / LEAST_RUN) as usize).max(1);
    let share = |part: f64| part * most as f64;
    let starts = starts(&sketch, straight, seed, share(STARTS_SHARE) as u64, handle)?;
    let growth = problem.variables.positions_deg.len().max(1) as f64 / USUAL_JOINTS;
    let sketched = SKETCHED
        .longer(growth)
        .within(share(SKETCHED_SHARE) / runs as f64);
    let walked = NEAR.longer(growth).within(share(NEAR_SHARE) / runs as f64);
    let whole = sketched == SKETCHED.longer(growth) && walked == NEAR.longer(growth);
    let left = 1.0 - STARTS_SHARE - SKETCHED_SHARE - NEAR_SHARE;
    let descended = share(left) as u64 / runs as u64;

    let starts = starts.into_iter().take(runs).enumerate();
    let ends = threads::map(starts, |(run, start)| {
        let seed = seed.wrapping_add(2 * run as u64);
        let start = anneal(&sketch, handle, start, sketched, seed)?.candidate;
        let start = if handle.must_stop() {
            start
        } else {
            anneal(&near, handle, start, walked, seed.wrapping_add(1))?.candidate
        };
        Descent::new(problem, handle, descended).settle(start)
    });
    let ends = ends.into_iter().collect::<Result<Vec<_>>>()?;
    let settled = whole && ends.iter().all(|end| end.settled);
    let runs_db: Vec<f64> = ends.iter().map(|end| end.best.score.objective_db).collect();
    let ends: Vec<Scored> = ends.into_iter().map(|end| end.best).collect();
    let best = ends.iter().cloned().reduce(Scored::better);
    let best = best.unwrap_or_else(|| straight.clone());
    let near_best = runs_db
        .iter()
        .filter(|&&end| end <= best.score.objective_db + AS_GOOD_DB);
    let ending = match near_best.count() {
        _ if !settled => Status::BudgetSpent,
        0 | 1 => Status::Unsettled,
        _ => Status::Settled,
    };
    let found = Found {
        best,
        ending,
        runs_db,
    };
    Ok((found, ends))
}
