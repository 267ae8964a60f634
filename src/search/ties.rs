//! Of hangs as good as the best, which one? The louder, then the smoother.
//!
//! All moves of a descent are tried once more from the best candidate, and hangs within
//! [`AS_GOOD_DB`] of its objective are compared, with the ends of the other runs among them; then
//! from the one that is preferred, for as long as another is: two moves may each give away level
//! that both together do not.

use super::candidate::Candidate;
use super::constraints::violation;
use super::descent::{Score, Scored};
use super::evaluator::Evaluator;
use super::handle::Handle;
use super::heat::AS_GOOD_DB;
use super::moves::Move;
use super::problem::Problem;
use crate::error::Result;
use crate::threads;

/// The moves are tried in so many shares, whatever the number of threads.
const SHARES: usize = 4;

/// Levels this near are alike.
const AS_LOUD_DB: f64 = 0.02;

/// The moves are tried from at most so many hangs.
const MOST_STEPS: usize = 4;

/// The louder, then the smoother, of `best`, `others` and the neighbours that are as good as it, of
/// at most so many.
pub(super) fn broken(
    problem: &Problem<'_>,
    best: &Scored,
    others: &[Scored],
    most: u64,
    handle: &Handle,
) -> Result<Scored> {
    let before = handle.evaluations();
    let mut alike: Vec<Scored> = vec![best.clone()];
    alike.extend(
        others
            .iter()
            .filter(|other| as_good(best, other.score))
            .cloned(),
    );
    let mut here = best.clone();
    for _ in 0..MOST_STEPS {
        let left = most.saturating_sub(handle.evaluations() - before);
        alike.extend(alike_around(problem, &here, best, left, handle)?);
        let next = preferred(problem, &alike, best);
        if next.candidate == here.candidate {
            break;
        }
        here = next;
    }
    Ok(here)
}

/// Is it as good as the best?
fn as_good(best: &Scored, score: Score) -> bool {
    score.violation <= best.score.violation
        && score.objective_db <= best.score.objective_db + AS_GOOD_DB
}

/// The neighbours of a hang that are as good as the best, of the first so many.
fn alike_around(
    problem: &Problem<'_>,
    here: &Scored,
    best: &Scored,
    most: u64,
    handle: &Handle,
) -> Result<Vec<Scored>> {
    let moves: Vec<&Move> = problem.moves.iter().flatten().collect();
    let shares = moves.chunks(moves.len().div_ceil(SHARES).max(1));
    let found = threads::map(shares, |moves| {
        let mut evaluator = Evaluator::new(problem);
        evaluator.rebase(problem.lay(here.candidate.clone()));
        let mut alike = Vec::new();
        for next in moves {
            if handle.must_stop() || evaluator.evaluations >= most / SHARES as u64 {
                break;
            }
            let Some(candidate) = next.of(&here.candidate, &problem.variables) else {
                continue;
            };
            let laid = problem.lay(candidate);
            handle.count(1);
            let most_db = best.score.objective_db + AS_GOOD_DB;
            let Some(heard) = evaluator.hear_within(&laid, most_db)? else {
                continue;
            };
            let score = Score::of_heard(&heard);
            if as_good(best, score) {
                let score = score.missing(violation(&problem.mechanics(&laid)?.margins));
                let candidate = laid.candidate;
                alike.extend(
                    Some(Scored { candidate, score }).filter(|next| as_good(best, next.score)),
                );
            }
        }
        Ok(alike)
    });
    Ok(found.into_iter().collect::<Result<Vec<_>>>()?.concat())
}

/// The smoothest of the loudest.
fn preferred(problem: &Problem<'_>, alike: &[Scored], best: &Scored) -> Scored {
    let roughness_deg =
        |candidate: &Candidate| problem.roughness_deg(&problem.lay(candidate.clone()));
    let loudest_db = alike
        .iter()
        .map(|one| one.score.mean_db)
        .fold(f64::MIN, f64::max);
    let smoothest = alike
        .iter()
        .filter(|one| one.score.mean_db >= loudest_db - AS_LOUD_DB)
        .map(|one| (roughness_deg(&one.candidate), one))
        .min_by(|(a, one), (b, other)| {
            a.total_cmp(b)
                .then(one.score.objective_db.total_cmp(&other.score.objective_db))
        });
    smoothest.map_or(best, |(_, one)| one).clone()
}
