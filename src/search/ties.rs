//! Of hangs as good as the best, which one? The louder, then the smoother.
//!
//! All moves of a descent are tried once more from the best candidate, and hangs within
//! [`AS_GOOD_DB`] of its objective are compared, with the ends of the other runs among them.

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
const AS_LOUD_DB: f64 = 0.05;

/// The louder, then the smoother, of `best`, `others` and the neighbours of `best`, at most so many,
/// that are as good as it.
pub(super) fn broken(
    problem: &Problem<'_>,
    best: &Scored,
    others: &[Scored],
    most: u64,
    handle: &Handle,
) -> Result<Scored> {
    let as_good = |score: Score| {
        score.violation <= best.score.violation
            && score.objective_db <= best.score.objective_db + AS_GOOD_DB
    };
    let moves: Vec<&Move> = problem.moves.iter().flatten().collect();
    let shares = moves.chunks(moves.len().div_ceil(SHARES).max(1));
    let found = threads::map(shares, |moves| {
        let mut evaluator = Evaluator::new(problem);
        evaluator.rebase(problem.lay(best.candidate.clone()));
        let mut alike = Vec::new();
        for next in moves {
            if handle.must_stop() || evaluator.evaluations >= most / SHARES as u64 {
                break;
            }
            let Some(candidate) = next.of(&best.candidate, &problem.variables) else {
                continue;
            };
            let laid = problem.lay(candidate);
            handle.count(1);
            let most_db = best.score.objective_db + AS_GOOD_DB;
            let Some(heard) = evaluator.hear_within(&laid, most_db)? else {
                continue;
            };
            let score = Score::of_heard(&heard);
            if as_good(score) {
                let score = score.missing(violation(&problem.mechanics(&laid)?.margins));
                let candidate = laid.candidate;
                alike.extend(Some(Scored { candidate, score }).filter(|next| as_good(next.score)));
            }
        }
        Ok(alike)
    });
    let mut alike: Vec<Scored> = vec![best.clone()];
    alike.extend(others.iter().filter(|other| as_good(other.score)).cloned());
    alike.extend(found.into_iter().collect::<Result<Vec<_>>>()?.concat());
    let roughness_deg =
        |candidate: &Candidate| problem.roughness_deg(&problem.lay(candidate.clone()));
    let loudest_db = alike
        .iter()
        .map(|one| one.score.mean_db)
        .fold(f64::MIN, f64::max);
    alike.retain(|one| one.score.mean_db >= loudest_db - AS_LOUD_DB);
    let smoothest = alike
        .into_iter()
        .map(|one| (roughness_deg(&one.candidate), one))
        .min_by(|(a, one), (b, other)| {
            a.total_cmp(b)
                .then(one.score.objective_db.total_cmp(&other.score.objective_db))
        });
    Ok(smoothest.map_or_else(|| best.clone(), |(_, one)| one))
}
