//! Which pins, which tilt, which height?
//!
//! minimise J − λ M + ρ R + ω O subject to: every stated limit kept, the closing force within the
//! slip clutch's band, the tilt reachable with the hoists, the trim height kept.
//!
//! | name | meaning |
//! |---|---|
//! | J | spread of the levels over seats and bands ([`crate::acoustics::unevenness`]) |
//! | M | mean level of the seats over the bands, λ the price of level |
//! | R | roughness of the pins, ρ its price |
//! | O | level off the seats over M, ω its price |
//!
//! With a study of several airs or with tolerances the objective is the mean or the worst of theirs.
//! Walks that cool, from curves of the stationary-phase law and other starts, then descents exact
//! over single, pair, bend and block moves; a proof looks at every candidate. The same seed gives
//! the same answer for any number of threads.

mod anneal;
mod candidate;
mod conditions;
mod constraints;
mod descent;
mod detail;
mod evaluator;
mod law;
mod listeners;
mod moves;
mod nearest;
mod one_hole;
mod problem;
mod prove;
mod race;
mod roughness;
pub mod sound;
mod starts;
mod trade_off;

pub use constraints::{Constraint, Margin};
pub use one_hole::{HoleRow, one_hole};
pub use trade_off::{Against, trade_off};

use crate::error::{InputError, Result};
use crate::model::{Hang, Study, Valid};
use crate::statics::limits::LimitTable;
use descent::{Score, Scored};
use detail::Detail;
use evaluator::Evaluator;
use problem::Problem;
use race::race;
pub use sound::Sound;
use starts::best_straight;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Instant;

/// How a search is run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Chooses the random starts.
    pub seed: u64,
    /// Whether to enumerate every candidate instead of searching.
    pub prove: bool,
    /// The search ends after about so many evaluations.
    pub budget_evaluations: Option<u64>,
}

/// How a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// No single, pair, bend or block move betters the answer.
    Settled,
    /// Every candidate was looked at; none is better.
    Proved,
    /// The budget was used up first.
    BudgetSpent,
    /// Stopped from outside; the answer is the best so far.
    Interrupted,
    /// No candidate met every constraint; the answer is the nearest found.
    Infeasible,
}

impl Status {
    /// The name used at the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Settled => "settled",
            Self::Proved => "proved",
            Self::BudgetSpent => "budget spent",
            Self::Interrupted => "interrupted",
            Self::Infeasible => "infeasible",
        }
    }
}

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
    pub status: Status,
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

/// Lets a caller stop a search and see how far it is.
#[derive(Debug, Default)]
pub struct Handle {
    cancelled: AtomicBool,
    evaluations: AtomicU64,
    deadline: Option<Instant>,
}

impl Handle {
    /// A handle that stops the search at `deadline`; what it finds by then depends on the machine.
    #[must_use]
    pub fn until(deadline: Option<Instant>) -> Self {
        Self {
            deadline,
            ..Self::default()
        }
    }

    /// Asks the search to stop; it answers with the best so far.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    fn cancelled(&self) -> bool {
        self.cancelled.load(Ordering::Relaxed)
    }

    fn out_of_time(&self) -> bool {
        self.deadline.is_some_and(|end| Instant::now() >= end)
    }

    fn must_stop(&self) -> bool {
        self.cancelled() || self.out_of_time()
    }

    fn count(&self, evaluations: u64) {
        self.evaluations.fetch_add(evaluations, Ordering::Relaxed);
    }

    /// Evaluations made so far.
    #[must_use]
    pub fn evaluations(&self) -> u64 {
        self.evaluations.load(Ordering::Relaxed)
    }
}

/// Finds the pins, tilt and height of the least objective among those that can be hung.
/// Where the goals leave the number of cabinets open, every number is searched and the best hang
/// is the answer; of equals, the shortest.
///
/// # Errors
/// A cabinet has no source, a seat lies too near the hang, the mechanics of the hang cannot be
/// computed, or a proof is asked of more candidates than it can enumerate.
pub fn optimise_splays(study: &Valid<Study>, options: Options, handle: &Handle) -> Result<Answer> {
    let all = study.hang.cabinets.len() as u32;
    let [fewest, most] = study.goals.cabinet_range.unwrap_or([all, all]);
    let mut best: Option<(Score, Answer)> = None;
    let mut counts = Vec::new();
    for count in fewest..=most {
        let shorter = Valid::new(shortened(study, count as usize))?;
        let (score, answer) = optimise_count(&shorter, options, handle)?;
        counts.push(CountRow {
            cabinets: count as usize,
            objective_db: score.objective_db,
            feasible: score.violation == 0.0,
        });
        if best.as_ref().is_none_or(|(kept, _)| score.betters(*kept)) {
            best = Some((score, answer));
        }
    }
    let (_, mut answer) =
        best.ok_or_else(|| InputError::new("goals.cabinet_range", "empty", "at least one number"))?;
    answer.counts = counts;
    Ok(answer)
}

/// The study with the first `count` cabinets alone.
fn shortened(study: &Study, count: usize) -> Study {
    let mut shorter = study.clone();
    shorter.hang.cabinets.truncate(count);
    shorter.hang.splays_deg.truncate(count - 1);
    shorter.goals.cabinet_range = None;
    shorter
}

fn optimise_count(
    study: &Valid<Study>,
    options: Options,
    handle: &Handle,
) -> Result<(Score, Answer)> {
    let problem = Problem::new(study, Detail::full(study))?;
    let straight = best_straight(&problem, handle)?;
    let (found, ending) = if options.prove {
        let found = prove::enumerate(&problem, handle)?;
        (found, Status::Proved)
    } else {
        race(&problem, &straight, options, handle)?
    };
    let status = if handle.cancelled() {
        Status::Interrupted
    } else if handle.out_of_time() {
        Status::BudgetSpent
    } else if found.score.violation > 0.0 {
        Status::Infeasible
    } else {
        ending
    };
    let answer = answer(&problem, &found, &straight, status, handle)?;
    Ok((found.score, answer))
}

fn answer(
    problem: &Problem<'_>,
    found: &Scored,
    straight: &Scored,
    status: Status,
    handle: &Handle,
) -> Result<Answer> {
    let laid = problem.lay(found.candidate.clone());
    let straight_laid = problem.lay(straight.candidate.clone());
    let mechanics = problem.mechanics(&laid)?;
    let mut evaluator = Evaluator::new(problem);
    let (heard, sound) = sound::of(problem, &mut evaluator, &laid)?;
    let (straight_heard, straight_sound) = sound::of(problem, &mut evaluator, &straight_laid)?;
    let mut hang = problem.study.hang.clone();
    hang.splays_deg = laid.splays_deg.clone();
    let mut gains_db = Vec::with_capacity(hang.cabinets.len());
    for (index, cabinet) in hang.cabinets.iter_mut().enumerate() {
        let gain_db = problem.variables.gain_db(&found.candidate, index);
        gains_db.push(gain_db);
        for element in cabinet.source.iter_mut().flat_map(|s| &mut s.elements) {
            element.gain_db += gain_db;
        }
    }
    let mut margins = mechanics.margins;
    margins.extend(heard.margins);
    Ok(Answer {
        status,
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
        nearest_study: if status == Status::Infeasible {
            nearest::nearest_study(problem.study, &found.candidate)?
        } else {
            None
        },
        margins,
    })
}
