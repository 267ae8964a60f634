//! From a start to a candidate that no single, pair, bend or block move betters.
//!
//! A move is judged exactly: constraints first by how far they are missed, then the objective. The
//! [`moves`](super::moves) are tried in a fixed order, each bettering one at once taken, so the
//! outcome depends on the start alone.

use super::candidate::Candidate;
use super::constraints::violation;
use super::evaluator::Evaluator;
use super::handle::Handle;
use super::hearing::Heard;
use super::laid::Laid;
use super::moves::Move;
use super::problem::Problem;
use crate::error::Result;
use std::cmp::Ordering;

/// Gains smaller than this are rounding.
pub(super) const LEAST_GAIN_DB: f64 = 1e-9;

/// Objectives this near are alike: a tenth of what a line more or less in each band changes.
pub(super) const AS_GOOD_DB: f64 = 0.01;

/// How good a candidate is: constraints before the objective.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Score {
    pub violation: f64,
    pub objective_db: f64,
    /// Spread of the levels over the seats: the scale of what is still to be won.
    pub spread_db: f64,
    /// Mean level of the seats.
    pub mean_db: f64,
}

impl Score {
    pub(super) fn of(
        problem: &Problem<'_>,
        evaluator: &mut Evaluator<'_, '_>,
        laid: &Laid,
    ) -> Result<Self> {
        let heard = evaluator.hear(laid)?;
        let mechanics = problem.mechanics(laid)?;
        Ok(Self::of_heard(&heard).missing(violation(&mechanics.margins)))
    }

    /// What is heard alone.
    pub(super) fn of_heard(heard: &Heard) -> Self {
        Self {
            violation: violation(&heard.margins),
            objective_db: heard.objective_db,
            spread_db: heard.spread_db,
            mean_db: heard.mean_db,
        }
    }

    /// The same with so much more missed.
    pub(super) fn missing(self, more: f64) -> Self {
        Self {
            violation: self.violation + more,
            ..self
        }
    }

    pub(super) fn betters(self, other: Self) -> bool {
        if self.violation != other.violation {
            return self.violation < other.violation;
        }
        self.objective_db < other.objective_db - LEAST_GAIN_DB
    }
}

/// A candidate with its score.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Scored {
    pub candidate: Candidate,
    pub score: Score,
}

impl Scored {
    /// Orders by score, the better first.
    pub(super) fn by_score(&self, other: &Self) -> Ordering {
        let [here, there] = [self.score, other.score];
        here.violation
            .total_cmp(&there.violation)
            .then(here.objective_db.total_cmp(&there.objective_db))
    }

    /// The better of two; the first of equals.
    pub(super) fn better(self, next: Self) -> Self {
        if next.score.betters(self.score) {
            next
        } else {
            self
        }
    }
}

/// Where a descent ended.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct End {
    pub best: Scored,
    /// Whether no move betters it; false when it was stopped before that was known.
    pub settled: bool,
}

/// Walks from a start candidate to one that no move betters.
pub(super) struct Descent<'p, 's> {
    problem: &'p Problem<'s>,
    evaluator: Evaluator<'p, 's>,
    handle: &'p Handle,
    /// Evaluations this descent may make. Each has its own share, so that threads cannot change
    /// who gets what.
    share: u64,
    stopped: bool,
}

impl<'p, 's> Descent<'p, 's> {
    pub(super) fn new(problem: &'p Problem<'s>, handle: &'p Handle, share: u64) -> Self {
        Self {
            problem,
            evaluator: Evaluator::new(problem),
            handle,
            share,
            stopped: false,
        }
    }

    /// Where a descent from `start` ends.
    pub(super) fn settle(mut self, start: Candidate) -> Result<End> {
        let laid = self.problem.lay(start);
        self.handle.count(1);
        let mut best = Scored {
            score: Score::of(self.problem, &mut self.evaluator, &laid)?,
            candidate: laid.candidate.clone(),
        };
        self.evaluator.rebase(laid);
        let groups = &self.problem.moves;
        let mut unbettered = 0;
        for group in groups.iter().cycle() {
            if unbettered == groups.len() || self.must_stop() {
                break;
            }
            unbettered = if self.take_best(&mut best, group)? {
                0
            } else {
                unbettered + 1
            };
        }
        Ok(End {
            best,
            settled: !self.stopped,
        })
    }

    fn must_stop(&mut self) -> bool {
        let spent = self.evaluator.evaluations >= self.share;
        self.stopped |= spent || self.handle.must_stop();
        self.stopped
    }

    /// Takes the best of several moves; whether it betters.
    fn take_best(&mut self, best: &mut Scored, moves: &[Move]) -> Result<bool> {
        let from = best.candidate.clone();
        for next in moves {
            if self.must_stop() {
                break;
            }
            let Some(candidate) = next.of(&from, &self.problem.variables) else {
                continue;
            };
            let found = better(
                self.problem,
                &mut self.evaluator,
                self.handle,
                candidate,
                best.score,
            )?;
            if let Some(found) = found {
                *best = found;
            }
        }
        let bettered = best.candidate != from;
        if bettered {
            self.evaluator
                .rebase(self.problem.lay(best.candidate.clone()));
        }
        Ok(bettered)
    }
}

/// The candidate with its score if it betters `than`; of field and mechanics, one is left out where
/// the other has decided.
pub(super) fn better(
    problem: &Problem<'_>,
    evaluator: &mut Evaluator<'_, '_>,
    handle: &Handle,
    candidate: Candidate,
    than: Score,
) -> Result<Option<Scored>> {
    let laid = problem.lay(candidate);
    let mechanics = || Ok(violation(&problem.mechanics(&laid)?.margins));
    // Nothing need be missed where nothing is missed yet, so hearing, which is given up early,
    // comes first; else only a smaller miss could make up for a greater objective.
    let mut known = None;
    if than.violation > 0.0 {
        let missed = mechanics()?;
        if missed > than.violation {
            return Ok(None);
        }
        known = Some(missed);
    }
    handle.count(1);
    let most_db = if known.unwrap_or(0.0) < than.violation {
        f64::INFINITY
    } else {
        than.objective_db
    };
    let Some(heard) = evaluator.hear_within(&laid, most_db)? else {
        return Ok(None);
    };
    let mut score = Score::of_heard(&heard).missing(known.unwrap_or(0.0));
    if !score.betters(than) {
        return Ok(None);
    }
    if known.is_none() {
        score = score.missing(mechanics()?);
    }
    let candidate = laid.candidate;
    Ok(score.betters(than).then_some(Scored { candidate, score }))
}
