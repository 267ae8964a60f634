//! One turn of a hang among others: does it serve better otherwise than it hangs now?
//!
//! From the hang as it hangs, and from the law's best curve, a walk cools among sketches, and a
//! descent with some hundred of the seats ends it. What it finds is held against the hang as it hangs
//! with all seats and all frequencies, and taken only where it is better: so no turn makes a system
//! worse.

use super::anneal::{Cooling, anneal};
use super::candidate::Candidate;
use super::descent::{Descent, Score, Scored};
use super::detail::Detail;
use super::evaluator::Evaluator;
use super::handle::Handle;
use super::problem::Problem;
use super::starts::best_curve;
use crate::error::Result;
use crate::model::{Hang, Study, Valid};
use crate::threads;

/// The walk of each start.
const WALK: Cooling = Cooling {
    steps: 1500.0,
    hot: 0.04,
    cold: 0.005,
};

/// Seats of a descent.
const MOST_SEATS: usize = 240;

/// How the hang hangs now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Now {
    /// Tilt of the fly frame.
    pub tilt_deg: f64,
    /// Height of cabinet 0's upper front hinge.
    pub top_m: f64,
}

/// What a turn came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Turn {
    /// The hang with its pins.
    pub hang: Valid<Hang>,
    /// Tilt of the fly frame.
    pub tilt_deg: f64,
    /// Height of cabinet 0's upper front hinge.
    pub top_m: f64,
    /// The picks in use.
    pub pick_x_m: Vec<f64>,
    /// Objective before and after, of all seats.
    pub objective_db: [f64; 2],
    /// Whether every constraint was and is met.
    pub feasible: [bool; 2],
}

/// A turn of the study's hang, which hangs with its pins as `now` says; with nothing known of how it
/// hangs, its pins at the tilt and height that serve best.
///
/// # Errors
/// As [`optimise_splays`](super::optimise_splays).
pub fn turn(study: &Valid<Study>, now: Option<Now>, seed: u64, handle: &Handle) -> Result<Turn> {
    let full = Problem::new(study, Detail::full(study))?;
    let few = full.coarser(Detail {
        lines_per_band: study.lines_per_band.min(3),
        most_seats: MOST_SEATS,
        ..Detail::near(study)
    })?;
    let sketch = full.coarser(Detail::sketch(study))?;
    let here = match now {
        Some(now) => candidate_at(&full, now),
        None => best_as_pinned(&few)?,
    };
    let starts = [
        Some(here.clone()),
        Some(best_curve(&sketch, handle)?.candidate),
    ];
    let starts = starts.into_iter().flatten().enumerate();
    let ends = threads::map(starts, |(run, start)| {
        let walked = anneal(&sketch, handle, start, WALK, seed.wrapping_add(run as u64))?;
        Descent::new(&few, handle, u64::MAX).settle(walked.candidate)
    });
    let mut evaluator = Evaluator::new(&full);
    let mut judged = |candidate: Candidate| -> Result<Scored> {
        handle.count(1);
        let laid = full.lay(candidate);
        let score = Score::of(&full, &mut evaluator, &laid)?;
        Ok(Scored {
            candidate: laid.candidate,
            score,
        })
    };
    let before = judged(here)?;
    let mut best = before.clone();
    for end in ends {
        best = best.better(judged(end?.best.candidate)?);
    }
    let laid = full.lay(best.candidate.clone());
    let mut hang = study.hang.clone();
    hang.splays_deg.clone_from(&laid.splays_deg);
    for (index, cabinet) in hang.cabinets.iter_mut().enumerate() {
        if let Some(source) = &mut cabinet.source {
            source.add_gain(full.variables.gain_db(&best.candidate, index));
        }
    }
    Ok(Turn {
        hang: Valid::new(hang)?,
        tilt_deg: laid.tilt_deg,
        top_m: laid.top_m,
        pick_x_m: full.pick_x_m(&laid),
        objective_db: [before.score.objective_db, best.score.objective_db],
        feasible: [before.score.violation == 0.0, best.score.violation == 0.0],
    })
}

/// The study's pins with the listed tilt and height nearest to those of now.
fn candidate_at(problem: &Problem<'_>, now: Now) -> Candidate {
    let pins = problem.given_pins();
    let top = super::law::nearest(&problem.variables.tops_m, now.top_m);
    let aim = problem.aim_near(&pins, top, now.tilt_deg);
    problem.variables.candidate(pins, aim, top)
}

/// The study's pins at the tilt and height that serve best.
fn best_as_pinned(problem: &Problem<'_>) -> Result<Candidate> {
    let mut evaluator = Evaluator::new(problem);
    let mut best: Option<Scored> = None;
    for top in 0..problem.variables.tops_m.len() {
        for aim in 0..problem.variables.aim_count() {
            let pins = problem.given_pins();
            let laid = problem.lay(problem.variables.candidate(pins, aim, top));
            let score = Score::of(problem, &mut evaluator, &laid)?;
            let next = Scored {
                candidate: laid.candidate,
                score,
            };
            best = Some(match best {
                Some(best) => best.better(next),
                None => next,
            });
        }
    }
    let first = || problem.variables.candidate(problem.given_pins(), 0, 0);
    Ok(best.map_or_else(first, |best| best.candidate))
}
