//! What a search answers.

use super::beyond::{self, Beyond};
use super::constraints::Margin;
use super::descent::{Score, Scored};
use super::ended::Ended;
use super::evaluator::Evaluator;
use super::handle::Handle;
use super::nearest;
use super::problem::Problem;
use super::sound::{self, Sound};
use crate::error::Result;
use crate::model::{Hang, Study, Valid};
use crate::statics::limits::LimitTable;

/// The best that was found with one number of cabinets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CountRow {
    /// The number.
    pub cabinets: usize,
    /// Its best objective.
    pub objective_db: f64,
    /// Whether every constraint is met.
    pub feasible: bool,
}

/// What the search found.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// How it ended.
    pub ended: Ended,
    /// The hang with the found pins.
    pub hang: Valid<Hang>,
    /// Tilt of the fly frame.
    pub tilt_deg: f64,
    /// Height of cabinet 0's upper front hinge.
    pub top_m: f64,
    /// The picks in use.
    pub pick_x_m: Vec<f64>,
    /// Gain of each cabinet, already in the hang's elements.
    pub gains_db: Vec<f64>,
    /// What the search makes least, of the answer.
    pub objective_db: f64,
    /// What the seats hear.
    pub sound: Sound,
    /// Closing force of a compression hang that a chain closes.
    pub closing_force_n: Option<f64>,
    /// The least objective met; that of the answer may be greater by 0.01 dB,
    /// where it is louder or smoother.
    pub least_objective_db: f64,
    /// Where each run of the search ended.
    pub runs_db: Vec<f64>,
    /// Ends of ranges at which the answer stands.
    pub beyond: Vec<Beyond>,
    /// Objective of a straight hang at its best tilt and height, constraints left aside.
    pub straight_objective_db: f64,
    /// What the seats hear of it.
    pub straight_sound: Sound,
    /// That best tilt.
    pub straight_tilt_deg: f64,
    /// That best height.
    pub straight_top_m: f64,
    /// Fields computed.
    pub evaluations: u64,
    /// The best of each number of cabinets.
    pub counts: Vec<CountRow>,
    /// Every stated limit with its force.
    pub limits: LimitTable,
    /// Every hard constraint with its margin.
    pub margins: Vec<Margin>,
    /// Of an infeasible study, the nearest one that allows this hang; none where the miss is no
    /// bound of the study.
    pub nearest_study: Option<Valid<Study>>,
}

/// Where a search came to.
pub(super) struct Found {
    pub best: Scored,
    pub ended: Ended,
    /// The objective at which each run ended.
    pub runs_db: Vec<f64>,
    /// The least objective met.
    least_db: f64,
}

impl Found {
    pub(super) fn new(best: Scored, ended: Ended, runs_db: Vec<f64>) -> Self {
        Self {
            least_db: best.score.objective_db,
            best,
            ended,
            runs_db,
        }
    }

    /// Answers another one than the best, or, of a search cut short, a better one.
    pub(super) fn answer(&mut self, other: Scored) {
        self.least_db = self.least_db.min(other.score.objective_db);
        self.best = other;
    }
}

/// Works out all that is answered about `found`.
pub(super) fn of(
    problem: &Problem<'_>,
    found: Found,
    straight: &Scored,
    handle: &Handle,
) -> Result<(Score, Answer)> {
    let ended = if handle.cancelled() {
        Ended::Interrupted
    } else if handle.out_of_time() {
        Ended::BudgetSpent
    } else if found.best.score.violation > 0.0 {
        Ended::Infeasible
    } else {
        found.ended
    };
    let laid = problem.lay(found.best.candidate.clone());
    let straight_laid = problem.lay(straight.candidate.clone());
    let mechanics = problem.mechanics(&laid)?;
    let mut evaluator = Evaluator::new(problem);
    let (heard, sound) = sound::of(problem, &mut evaluator, &laid)?;
    let (straight_heard, straight_sound) = sound::of(problem, &mut evaluator, &straight_laid)?;
    let mut hang = problem.study.hang.clone();
    hang.splays_deg = laid.splays_deg.clone();
    let mut gains_db = Vec::with_capacity(hang.cabinets.len());
    for (index, cabinet) in hang.cabinets.iter_mut().enumerate() {
        let gain_db = problem.variables.gain_db(&found.best.candidate, index);
        gains_db.push(gain_db);
        if let Some(source) = &mut cabinet.source {
            source.add_gain(gain_db);
        }
    }
    let mut margins = mechanics.margins;
    margins.extend(heard.margins);
    let answer = Answer {
        ended,
        hang: Valid::new(hang)?,
        tilt_deg: laid.tilt_deg,
        top_m: laid.top_m,
        pick_x_m: problem.pick_x_m(&laid),
        gains_db,
        objective_db: heard.objective_db,
        sound,
        closing_force_n: mechanics.closing_force_n,
        straight_objective_db: straight_heard.objective_db,
        straight_sound,
        straight_tilt_deg: straight_laid.tilt_deg,
        straight_top_m: straight_laid.top_m,
        evaluations: handle.evaluations(),
        counts: Vec::new(),
        limits: mechanics.limits,
        least_objective_db: found.least_db,
        runs_db: found.runs_db,
        beyond: if handle.must_stop() {
            Vec::new()
        } else {
            beyond::ends(problem, &found.best)?
        },
        nearest_study: if ended == Ended::Infeasible {
            nearest::nearest_study(problem.study, &found.best.candidate)?
        } else {
            None
        },
        margins,
    };
    Ok((found.best.score, answer))
}
