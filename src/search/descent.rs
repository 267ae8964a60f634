//! From one start to a candidate that no single, pair or block move betters.
//!
//! A move is judged exactly: constraints first by how far they are missed, then evenness. The
//! moves are: every position of every joint; the neighbouring aims and heights; one joint a
//! position up with another one down; the first joints against the aim; a run of joints all up or
//! down. They are tried in a fixed order, so the outcome depends on the start alone.

use super::Handle;
use super::candidate::Candidate;
use super::constraints::violation;
use super::problem::{Evaluator, Laid, Problem};
use crate::error::Result;
use std::cmp::Ordering;

/// Gains smaller than this are rounding.
const LEAST_GAIN_DB: f64 = 1e-9;

/// How good a candidate is: constraints before evenness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Score {
    pub violation: f64,
    pub objective_db: f64,
}

impl Score {
    pub(super) fn of(
        problem: &Problem<'_>,
        evaluator: &mut Evaluator<'_, '_>,
        laid: &Laid,
    ) -> Result<Self> {
        let heard = evaluator.hear(laid)?;
        let mechanics = problem.mechanics(laid)?;
        Ok(Self {
            violation: violation(&mechanics.margins) + violation(&heard.margins),
            objective_db: heard.objective_db,
        })
    }

    pub(super) fn betters(self, other: Self) -> bool {
        if self.violation != other.violation {
            return self.violation < other.violation;
        }
        self.objective_db < other.objective_db - LEAST_GAIN_DB
    }

    /// Best first.
    pub(super) fn order(self, other: Self) -> Ordering {
        self.violation
            .total_cmp(&other.violation)
            .then(self.objective_db.total_cmp(&other.objective_db))
    }
}

/// A candidate with its score.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Scored {
    pub candidate: Candidate,
    pub score: Score,
}

impl Scored {
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
    share: Option<u64>,
    stopped: bool,
}

impl<'p, 's> Descent<'p, 's> {
    pub(super) fn new(problem: &'p Problem<'s>, handle: &'p Handle, share: Option<u64>) -> Self {
        Self {
            problem,
            evaluator: Evaluator::new(problem),
            handle,
            share,
            stopped: false,
        }
    }

    pub(super) fn from(mut self, start: Candidate) -> Result<End> {
        let laid = self.problem.lay(start);
        self.handle.count(1);
        let mut best = Scored {
            score: Score::of(self.problem, &mut self.evaluator, &laid)?,
            candidate: laid.candidate.clone(),
        };
        self.evaluator.rebase(laid)?;
        while self.round(&mut best)? && !self.stopped {}
        Ok(End {
            best,
            settled: !self.stopped,
        })
    }

    fn must_stop(&mut self) -> bool {
        let spent = self
            .share
            .is_some_and(|share| self.evaluator.evaluations >= share);
        self.stopped |= spent || self.handle.cancelled();
        self.stopped
    }

    /// One pass over all kinds of move; whether it found anything better.
    fn round(&mut self, best: &mut Scored) -> Result<bool> {
        let before = best.score;
        for joint in 0..best.candidate.pins.len() {
            let pins = 0..self.problem.variables.positions_deg[joint].len();
            let moves = pins.map(|pin| vec![Step::Pin { joint, pin }]).collect();
            self.take_best(best, moves)?;
        }
        self.take_best(best, self.aims_and_tops(best))?;
        self.take_best(best, gains(best.candidate.gains.len()))?;
        self.take_best(best, pairs(best.candidate.pins.len()))?;
        self.take_best(best, blocks(best.candidate.pins.len()))?;
        Ok(best.score.betters(before))
    }

    fn aims_and_tops(&self, best: &Scored) -> Vec<Vec<Step>> {
        let mut moves = Vec::new();
        for by in [-4, -2, -1, 1, 2, 4] {
            moves.push(vec![Step::Aim { by }]);
            moves.push(vec![Step::Top { by }]);
            for joint in 0..best.candidate.pins.len().min(3) {
                for turn in [-1, 1] {
                    moves.push(vec![Step::Aim { by }, Step::Turn { joint, by: turn }]);
                }
            }
        }
        moves
    }

    /// Takes the best of several moves, if it betters.
    fn take_best(&mut self, best: &mut Scored, moves: Vec<Vec<Step>>) -> Result<()> {
        let from = best.candidate.clone();
        for steps in moves {
            if self.must_stop() {
                break;
            }
            let Some(candidate) = self.moved(&from, &steps) else {
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
        if best.candidate != from {
            self.evaluator
                .rebase(self.problem.lay(best.candidate.clone()))?;
        }
        Ok(())
    }

    fn moved(&self, from: &Candidate, steps: &[Step]) -> Option<Candidate> {
        let variables = &self.problem.variables;
        let mut candidate = from.clone();
        for step in steps {
            match *step {
                Step::Pin { joint, pin } => candidate.pins[joint] = pin,
                Step::Turn { joint, by } => {
                    let count = variables.positions_deg[joint].len();
                    candidate.pins[joint] = shifted(candidate.pins[joint], by, count)?;
                }
                Step::Aim { by } => {
                    candidate.aim = shifted(candidate.aim, by, variables.aim_count())?;
                }
                Step::Gain { cabinet, by } => {
                    let count = variables.gains_db.len();
                    candidate.gains[cabinet] = shifted(candidate.gains[cabinet], by, count)?;
                }
                Step::Top { by } => {
                    candidate.top = shifted(candidate.top, by, variables.tops_m.len())?;
                }
            }
        }
        (candidate != *from).then_some(candidate)
    }
}

/// The candidate with its score if it betters `than`; the field is left out where the mechanics
/// have decided.
pub(super) fn better(
    problem: &Problem<'_>,
    evaluator: &mut Evaluator<'_, '_>,
    handle: &Handle,
    candidate: Candidate,
    than: Score,
) -> Result<Option<Scored>> {
    let laid = problem.lay(candidate);
    let mechanics = violation(&problem.mechanics(&laid)?.margins);
    if mechanics > than.violation {
        return Ok(None);
    }
    handle.count(1);
    let heard = evaluator.hear(&laid)?;
    let score = Score {
        violation: mechanics + violation(&heard.margins),
        objective_db: heard.objective_db,
    };
    let candidate = laid.candidate;
    Ok(score.betters(than).then_some(Scored { candidate, score }))
}

#[derive(Clone, Copy, Debug)]
enum Step {
    Pin { joint: usize, pin: usize },
    Turn { joint: usize, by: isize },
    Aim { by: isize },
    Top { by: isize },
    Gain { cabinet: usize, by: isize },
}

fn shifted(index: usize, by: isize, count: usize) -> Option<usize> {
    index.checked_add_signed(by).filter(|&moved| moved < count)
}

fn gains(cabinets: usize) -> Vec<Vec<Step>> {
    (0..cabinets)
        .flat_map(|cabinet| [-1, 1].map(|by| vec![Step::Gain { cabinet, by }]))
        .collect()
}

fn pairs(joints: usize) -> Vec<Vec<Step>> {
    let mut moves = Vec::new();
    for upper in 0..joints {
        for lower in upper + 1..joints {
            for by in [-1, 1] {
                moves.push(vec![
                    Step::Turn { joint: upper, by },
                    Step::Turn {
                        joint: lower,
                        by: -by,
                    },
                ]);
            }
        }
    }
    moves
}

fn blocks(joints: usize) -> Vec<Vec<Step>> {
    let mut moves = Vec::new();
    for first in 0..joints {
        for last in first + 1..joints {
            for by in [-1, 1] {
                moves.push(
                    (first..=last)
                        .map(|joint| Step::Turn { joint, by })
                        .collect(),
                );
            }
        }
    }
    moves
}
