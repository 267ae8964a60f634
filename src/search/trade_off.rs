//! How much spread does more level, or less closing force, cost?
//!
//! The front is traced by bounds, level itself without a price: a search without a bound, then searches with the other quantity
//! bounded tighter step by step, until no hang meets the bound. Points that another point betters
//! in both quantities are left out.

use super::{Answer, Ended, Handle, Options, optimise_splays};
use crate::error::{InputError, Result};
use crate::model::{Study, Valid};

/// Step of the mean level, in decibels.
const LEVEL_STEP_DB: f64 = 0.5;

/// Step of the closing force, as a share of that of the first hang.
const FORCE_STEP: f64 = 0.05;

/// What the objective is traded against.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// Mean level of the seats at equal drive; more is better.
    MeanLevel,
    /// Closing force; less is better.
    ClosingForce,
}

impl Against {
    /// The one with this name at the Python face.
    ///
    /// # Errors
    /// Neither.
    pub fn named(name: &str) -> Result<Self> {
        match name {
            "mean level" => Ok(Self::MeanLevel),
            "closing force" => Ok(Self::ClosingForce),
            _ => Err(InputError::new(
                "against",
                name,
                "\"mean level\" or \"closing force\"",
            )),
        }
    }

    fn of(self, answer: &Answer) -> Option<f64> {
        match self {
            Self::MeanLevel => Some(answer.sound.measures.mean_db),
            Self::ClosingForce => answer.closing_force_n,
        }
    }

    /// The study with the quantity bounded `step` steps tighter than `free`.
    fn bounded(self, study: &Study, free: f64, step: usize) -> Study {
        let mut bounded = study.clone();
        let steps = step as f64;
        match self {
            Self::MeanLevel => {
                bounded.goals.least_mean_db = Some(free + LEVEL_STEP_DB * steps);
            }
            Self::ClosingForce => {
                bounded.goals.most_closing_force_n = Some(free * (1.0 - FORCE_STEP * steps));
            }
        }
        bounded
    }

    fn betters(self, a: f64, b: f64) -> bool {
        match self {
            Self::MeanLevel => a >= b,
            Self::ClosingForce => a <= b,
        }
    }
}

/// Hangs from the one of the least objective on, each worse in it and better in the other quantity.
///
/// # Errors
/// A closing force is asked of a hang that no chain closes, `points` is 0, or as
/// [`optimise_splays`].
pub fn trade_off(
    study: &Valid<Study>,
    against: Against,
    points: usize,
    options: Options,
    handle: &Handle,
) -> Result<Vec<Answer>> {
    if points == 0 {
        return Err(InputError::new("points", points, "a whole number above 0"));
    }
    let first = optimise_splays(study, options, handle)?;
    let free = against.of(&first).ok_or_else(|| {
        InputError::new(
            "against",
            "closing force",
            "a compression hang that a chain closes",
        )
    })?;
    let mut front = vec![first];
    for step in 1..points {
        if handle.must_stop() {
            break;
        }
        let bounded = against.bounded(study, free, step);
        // A bound that has left its range, such as a force of zero, cannot be met.
        let Ok(bounded) = Valid::new(bounded) else {
            break;
        };
        let answer = optimise_splays(&bounded, options, handle)?;
        if answer.ended == Ended::Infeasible {
            break;
        }
        front.push(answer);
    }
    let points: Vec<(f64, f64)> = front
        .iter()
        .map(|answer| (answer.objective_db, against.of(answer).unwrap_or(free)))
        .collect();
    let bettered = |index: usize| {
        let (objective, value) = points[index];
        points.iter().enumerate().any(|(other, &(o, v))| {
            let better = o < objective || (o == objective && other < index);
            better && against.betters(v, value)
        })
    };
    let mut front: Vec<Answer> = front
        .into_iter()
        .enumerate()
        .filter(|&(index, _)| !bettered(index))
        .map(|(_, answer)| answer)
        .collect();
    // A search cut short may be bettered by one with a bound.
    front.sort_by(|a, b| a.objective_db.total_cmp(&b.objective_db));
    Ok(front)
}
