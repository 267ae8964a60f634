//! The hangs a move away from the best that are as good as it, and what lies a move beyond them.
//!
//! A descent ends where no single move betters. Two moves may, of which the first alone makes a hang
//! that is no worse than [`AS_GOOD_DB`], and the second one no worse than [`SECOND_DB`]. Both are
//! heard in less detail first, and in full where that leaves room for what they are to be.

use super::candidate::Candidate;
use super::constraints::violation;
use super::descent::{AS_GOOD_DB, Descent, LEAST_GAIN_DB, Score, Scored};
use super::evaluator::Evaluator;
use super::handle::Handle;
use super::moves::Move;
use super::problem::Problem;
use crate::error::Result;
use crate::threads;

/// The moves are tried in so many shares, whatever the number of threads.
const SHARES: usize = 4;

/// So many of the moves that are as good are tried as the first of two.
const FIRST_MOVES: usize = 8;

/// How much worse the second of two moves may be alone.
const SECOND_DB: f64 = 0.02;

/// By how much less detail may misjudge the difference between a hang and one two moves away.
const MISJUDGED_DB: f64 = 0.003;

/// The best that was found, and those seen on the way that are nearly as good.
pub(super) struct Around {
    pub best: Scored,
    pub alike: Vec<Scored>,
}

/// Where moves are tried: in full and in less detail.
#[derive(Clone, Copy)]
pub(super) struct Surroundings<'p, 's> {
    pub problem: &'p Problem<'s>,
    pub near: &'p Problem<'s>,
    pub handle: &'p Handle,
}

/// A move that was heard in less detail.
struct Heard<'p> {
    by: &'p Move,
    to: Candidate,
    objective_db: f64,
}

impl<'p> Surroundings<'p, '_> {
    /// Looks around `best`, and on from a better one where two moves lead to it; makes about `most`
    /// evaluations at the most.
    pub(super) fn look(self, mut best: Scored, most: u64) -> Result<Around> {
        let before = self.handle.evaluations();
        let left = || most.saturating_sub(self.handle.evaluations() - before);
        let mut alike = Vec::new();
        loop {
            let near_db = self.in_less_detail(&best)? + MISJUDGED_DB;
            let moves: Vec<&Move> = self.moves().collect();
            let moves = self.moved(&best.candidate, &moves, near_db + SECOND_DB, left())?;
            let first = moves.partition_point(|next| next.objective_db <= near_db + AS_GOOD_DB);
            let one_move = moves[..first].iter().map(|next| &next.to);
            alike.extend(self.within(one_move, &best, AS_GOOD_DB, left())?);
            let beyond = self.moved_twice(&moves, first.min(FIRST_MOVES), near_db, left())?;
            let beyond = self.within(beyond.iter(), &best, -LEAST_GAIN_DB, left())?;
            let found = beyond.into_iter().fold(best.clone(), Scored::better);
            if found.candidate == best.candidate {
                return Ok(Around { best, alike });
            }
            let descent = Descent::new(self.problem, self.handle, left());
            alike.push(best);
            best = descent.settle(found.candidate)?.best;
        }
    }

    /// The hangs a move away from `here` that are smoother and as good as `best`; makes about `most`
    /// evaluations at the most.
    pub(super) fn smoother(self, here: &Scored, best: &Scored, most: u64) -> Result<Vec<Scored>> {
        let before = self.handle.evaluations();
        let near_db = self.in_less_detail(best)? + MISJUDGED_DB;
        let laid = self.near.lay(here.candidate.clone());
        let rough_deg = self.near.roughness_deg(&laid);
        let smoother = |by: &&Move| {
            let to = by.of(&here.candidate, &self.near.variables);
            to.is_some_and(|to| self.near.roughness_deg(&self.near.lay(to)) < rough_deg)
        };
        let moves: Vec<&Move> = self.moves().filter(smoother).collect();
        let moves = self.moved(&here.candidate, &moves, near_db + AS_GOOD_DB, most)?;
        let left = most.saturating_sub(self.handle.evaluations() - before);
        self.within(moves.iter().map(|next| &next.to), best, AS_GOOD_DB, left)
    }

    fn moves(self) -> impl Iterator<Item = &'p Move> {
        self.problem.moves.iter().flatten()
    }

    /// The objective of `best` in less detail.
    fn in_less_detail(self, best: &Scored) -> Result<f64> {
        let laid = self.near.lay(best.candidate.clone());
        Ok(Evaluator::new(self.near).hear(&laid)?.objective_db)
    }

    /// Those of `moves` from `base` that in less detail are likely to be no worse than `most_db`, the
    /// best first.
    fn moved(
        self,
        base: &Candidate,
        moves: &[&'p Move],
        most_db: f64,
        most: u64,
    ) -> Result<Vec<Heard<'p>>> {
        let share = most / SHARES as u64;
        let shares = moves.chunks(moves.len().div_ceil(SHARES).max(1));
        let heard = threads::map(shares, |moves| {
            self.heard(base, moves.iter().copied(), most_db, share)
        });
        let heard: Vec<Vec<Heard<'p>>> = heard.into_iter().collect::<Result<_>>()?;
        let mut heard: Vec<Heard<'p>> = heard.into_iter().flatten().collect();
        heard.sort_by(|one, other| one.objective_db.total_cmp(&other.objective_db));
        heard.dedup_by(|one, other| one.to == other.to);
        Ok(heard)
    }

    /// Where each of the first so many of `moves` and one that comes after it lead, if in less detail
    /// that is likely to be no worse than `most_db`.
    fn moved_twice(
        self,
        moves: &[Heard<'p>],
        first: usize,
        most_db: f64,
        most: u64,
    ) -> Result<Vec<Candidate>> {
        let share = most / first.max(1) as u64;
        let found = threads::map(0..first, |number| {
            let second = moves[number + 1..].iter().map(|next| next.by);
            self.heard(&moves[number].to, second, most_db, share)
        });
        let found: Vec<Vec<Heard<'p>>> = found.into_iter().collect::<Result<_>>()?;
        Ok(found.into_iter().flatten().map(|heard| heard.to).collect())
    }

    /// Those of some moves from `base` that in less detail are likely to be no worse than `most_db`.
    fn heard(
        self,
        base: &Candidate,
        moves: impl Iterator<Item = &'p Move>,
        most_db: f64,
        most: u64,
    ) -> Result<Vec<Heard<'p>>> {
        let mut evaluator = Evaluator::new(self.near);
        let laid = self.near.lay(base.clone());
        evaluator.hear(&laid)?;
        evaluator.mark();
        evaluator.rebase(laid);
        let mut found = Vec::new();
        for by in moves {
            if self.handle.must_stop() || evaluator.evaluations > most {
                break;
            }
            let Some(to) = by.of(base, &self.near.variables) else {
                continue;
            };
            let laid = self.near.lay(to);
            self.handle.count(1);
            let Some(heard) = evaluator.hear_likely_within(&laid, most_db)? else {
                continue;
            };
            let (to, objective_db) = (laid.candidate, heard.objective_db);
            if objective_db <= most_db {
                found.push(Heard {
                    by,
                    to,
                    objective_db,
                });
            }
        }
        Ok(found)
    }

    /// Those that in full are worse than `best` by no more than `by_db`, each once.
    fn within<'c>(
        self,
        candidates: impl Iterator<Item = &'c Candidate>,
        best: &Scored,
        by_db: f64,
        most: u64,
    ) -> Result<Vec<Scored>> {
        let than = Score {
            objective_db: best.score.objective_db + by_db,
            ..best.score
        };
        let mut each: Vec<&Candidate> = Vec::new();
        for candidate in candidates {
            if !each.contains(&candidate) && *candidate != best.candidate {
                each.push(candidate);
            }
        }
        each.truncate(usize::try_from(most).unwrap_or(usize::MAX));
        let shares = each.chunks(each.len().div_ceil(SHARES).max(1));
        let found = threads::map(shares, |share| {
            let mut evaluator = Evaluator::new(self.problem);
            let scored = share
                .iter()
                .map(|one| self.in_full(&mut evaluator, one, than));
            scored.filter_map(Result::transpose).collect()
        });
        Ok(found.into_iter().collect::<Result<Vec<Vec<_>>>>()?.concat())
    }

    /// The candidate with its score where it is not worse than `than`.
    fn in_full(
        self,
        evaluator: &mut Evaluator<'_, '_>,
        candidate: &Candidate,
        than: Score,
    ) -> Result<Option<Scored>> {
        let not_worse = |score: Score| {
            score.violation <= than.violation && score.objective_db <= than.objective_db
        };
        let laid = self.problem.lay(candidate.clone());
        self.handle.count(1);
        let Some(heard) = evaluator.hear_within(&laid, than.objective_db)? else {
            return Ok(None);
        };
        let mut score = Score::of_heard(&heard);
        if not_worse(score) {
            score = score.missing(violation(&self.problem.mechanics(&laid)?.margins));
        }
        let candidate = laid.candidate;
        Ok(not_worse(score).then_some(Scored { candidate, score }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Study, from_json};
    use crate::search::best_straight;
    use crate::search::detail::Detail;
    use crate::search::starts::starts;

    /// What some moves lead to, heard in full, that is no worse than `than` by `by_db`.
    fn moved_in_full<'m>(
        problem: &Problem<'_>,
        base: &Candidate,
        moves: impl Iterator<Item = &'m Move>,
        than: Score,
        by_db: f64,
    ) -> Vec<(Scored, &'m Move)> {
        let mut evaluator = Evaluator::new(problem);
        let scored = moves.filter_map(|by| {
            let candidate = by.of(base, &problem.variables)?;
            let laid = problem.lay(candidate.clone());
            let heard = evaluator.hear(&laid).unwrap();
            if heard.objective_db > than.objective_db + by_db {
                return None;
            }
            let score = Score::of(problem, &mut evaluator, &laid).unwrap();
            let no_worse = score.violation <= than.violation;
            no_worse.then_some((Scored { candidate, score }, by))
        });
        let mut scored: Vec<_> = scored.collect();
        scored.sort_by(|(one, _), (other, _)| one.by_score(other));
        scored.dedup_by(|(one, _), (other, _)| one == other);
        scored
    }

    /// What is found from a descent's end, against every move in full; whether it is better.
    fn betters(surroundings: Surroundings<'_, '_>, settled: &Scored) -> bool {
        let problem = surroundings.problem;
        let Around { best, alike } = surroundings.look(settled.clone(), u64::MAX).unwrap();
        let all = surroundings.moves();
        let second = moved_in_full(problem, &best.candidate, all, best.score, SECOND_DB);
        let as_good_db = best.score.objective_db + AS_GOOD_DB;
        let first = second.iter().map(|(next, _)| next);
        let first = first.filter(|next| next.score.objective_db <= as_good_db);
        let first: Vec<&Scored> = first.collect();
        assert!(first.iter().all(|next| alike.contains(next)));
        for base in first.into_iter().take(FIRST_MOVES) {
            let moves = second.iter().map(|(_, by)| *by);
            let twice = moved_in_full(problem, &base.candidate, moves, best.score, -LEAST_GAIN_DB);
            assert_eq!(twice, []);
        }
        best.score.betters(settled.score)
    }

    #[test]
    fn two_moves_better_where_one_does_not() {
        let text = include_str!("../../python/hangarc/demo/study.json");
        let study = from_json::<Study>(text).unwrap();
        let few = |detail| Detail {
            most_seats: 40,
            lines_per_band: 1,
            ..detail
        };
        let problem = Problem::new(&study, few(Detail::full(&study))).unwrap();
        let near = problem.coarser(few(Detail::near(&study))).unwrap();
        let handle = &Handle::default();
        let surroundings = Surroundings {
            problem: &problem,
            near: &near,
            handle,
        };
        let straight = best_straight(&problem, 200, handle).unwrap();
        let starts = starts(&problem, &straight, 2, 7, 100, handle).unwrap();
        let bettered = starts.into_iter().filter(|start| {
            let descent = Descent::new(&problem, handle, u64::MAX);
            betters(surroundings, &descent.settle(start.clone()).unwrap().best)
        });
        assert!(bettered.count() > 0);
    }
}
