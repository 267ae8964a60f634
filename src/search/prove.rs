//! Is there no better candidate at all? Every one is looked at.
//!
//! For each tilt, height and first pin a task runs through the other pins with the last joint
//! innermost, so that a candidate costs the field of the last cabinet alone.

use super::candidate::Candidate;
use super::descent::{Score, Scored, better};
use super::evaluator::Evaluator;
use super::handle::Handle;
use super::problem::Problem;
use crate::error::{InputError, Result, accept};
use crate::threads;

/// More candidates than this are not enumerated.
pub const MOST_CANDIDATES: f64 = 2e7;

const NOTHING: Score = Score {
    violation: f64::INFINITY,
    objective_db: f64::INFINITY,
    spread_db: f64::INFINITY,
    mean_db: f64::NEG_INFINITY,
};

/// The best of all candidates, the first of equals, and whether all were looked at: at most so many
/// are. When cancelled, the best of those seen.
pub(super) fn enumerate(
    problem: &Problem<'_>,
    most: u64,
    handle: &Handle,
) -> Result<(Scored, bool)> {
    accept(
        problem.variables.count() <= MOST_CANDIDATES,
        "prove",
        format!("a study of {:.3e} candidates", problem.variables.count()),
        format!("at most {MOST_CANDIDATES:.0e} candidates"),
    )?;
    let variables = &problem.variables;
    accept(
        variables.gains_db.len() <= 1,
        "prove",
        "a study with gains",
        "goals.gains_db left empty; gains are not enumerated",
    )?;
    let first_pins = variables.positions_deg.first().map_or(1, Vec::len);
    let mut tasks = Vec::new();
    for top in 0..variables.tops_m.len() {
        for aim in 0..variables.aim_count() {
            tasks.extend((0..first_pins).map(|pin| (top, aim, pin)));
        }
    }
    let whole = problem.variables.count() <= most as f64;
    tasks.truncate(usize::try_from(most.max(1)).unwrap_or(usize::MAX));
    // Each has its own share, so that threads cannot change who gets what.
    let share = (most / tasks.len().max(1) as u64).max(1);
    let bests = threads::map(tasks, |(top, aim, pin)| {
        let mut pins = vec![0; variables.positions_deg.len()];
        if let Some(first) = pins.first_mut() {
            *first = pin;
        }
        best_of(problem, share, handle, variables.candidate(pins, aim, top))
    });
    let bests = bests.into_iter().collect::<Result<Vec<_>>>()?;
    let best = bests.into_iter().flatten().reduce(Scored::better);
    let best = best.ok_or_else(|| InputError::new("study", "no candidate", "at least one"))?;
    Ok((best, whole))
}

/// The best of so many candidates with this first pin, aim and height.
fn best_of(
    problem: &Problem<'_>,
    share: u64,
    handle: &Handle,
    mut candidate: Candidate,
) -> Result<Option<Scored>> {
    let mut evaluator = Evaluator::new(problem);
    let mut best: Option<Scored> = None;
    let inner = candidate.pins.len().saturating_sub(1);
    loop {
        let spent = evaluator.evaluations >= share;
        if (spent || handle.must_stop()) && best.is_some() {
            return Ok(best);
        }
        evaluator.rebase(problem.lay(candidate.clone()));
        let last_pins = if inner == 0 {
            1
        } else {
            problem.variables.positions_deg[inner].len()
        };
        for pin in 0..last_pins {
            if evaluator.evaluations >= share {
                break;
            }
            if inner > 0 {
                candidate.pins[inner] = pin;
            }
            let than = best.as_ref().map_or(NOTHING, |best| best.score);
            let found = better(problem, &mut evaluator, handle, candidate.clone(), than)?;
            best = found.or(best);
        }
        if !advance(problem, &mut candidate) {
            return Ok(best);
        }
    }
}

/// Steps the pins between the first and the last joint like an odometer; false past the end.
fn advance(problem: &Problem<'_>, candidate: &mut Candidate) -> bool {
    let joints = candidate.pins.len();
    if joints > 1 {
        candidate.pins[joints - 1] = 0;
    }
    for joint in (1..joints.saturating_sub(1)).rev() {
        candidate.pins[joint] += 1;
        if candidate.pins[joint] < problem.variables.positions_deg[joint].len() {
            return true;
        }
        candidate.pins[joint] = 0;
    }
    false
}
