//! Which pins, which tilt, which height?
//!
//! minimise evenness(pins, tilt, top) subject to: every stated limit kept, the closing force
//! within the slip clutch's band, the tilt reachable with the hoists, the trim height kept.
//!
//! Evenness is √(Σ w (L_r − L̄)² / Σ w) over the seats ([`crate::acoustics::measures`]). Descents
//! from several starts, each exact over single, pair and block moves; a proof looks at every
//! candidate. The same seed gives the same answer for any number of threads.

mod candidate;
mod constraints;
mod descent;
mod problem;
mod prove;
mod start;

pub use constraints::{Constraint, Margin};

use crate::error::{InputError, Result};
use crate::model::{Hang, Study, Valid};
use crate::pose::Vec2;
use crate::statics::limits::LimitTable;
use candidate::Candidate;
use descent::{Descent, End, Score, Scored};
use problem::{Evaluator, Problem};
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng, SeedableRng};
use rayon::prelude::*;
use start::Sight;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// Frequencies in each third octave while many starts are still in the running.
const COARSE_LINES: u32 = 2;

/// Ends of the coarse descents that are taken on with all frequencies.
const FINE_STARTS: usize = 4;

/// Computed curves from which a descent starts.
const CURVE_STARTS: usize = 4;

/// Random starts beside the computed ones.
const RANDOM_STARTS: usize = 6;

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
    /// No single, pair or block move betters the answer.
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
    /// Evenness of the answer.
    pub evenness_db: f64,
    /// Evenness of a straight hang at its best tilt and height, constraints left aside.
    pub straight_evenness_db: f64,
    /// That best tilt.
    pub straight_tilt_deg: f64,
    /// That best height.
    pub straight_top_m: f64,
    /// Fields computed.
    pub evaluations: u64,
    /// Every stated limit with its force.
    pub limits: LimitTable,
    /// Every hard constraint with its margin.
    pub margins: Vec<Margin>,
}

/// Lets a caller stop a search and see how far it is.
#[derive(Debug, Default)]
pub struct Handle {
    cancelled: AtomicBool,
    evaluations: AtomicU64,
}

impl Handle {
    /// Asks the search to stop; it answers with the best so far.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    fn cancelled(&self) -> bool {
        self.cancelled.load(Ordering::Relaxed)
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

/// Finds the pins, tilt and height that serve the seats most evenly among those that can be hung.
///
/// # Errors
/// A cabinet has no source, a seat lies too near the hang, the mechanics of the hang cannot be
/// computed, or a proof is asked of more candidates than it can enumerate.
pub fn optimise_splays(study: &Valid<Study>, options: Options, handle: &Handle) -> Result<Answer> {
    let problem = Problem::new(study, study.lines_per_band)?;
    let straight = best_straight(&problem, handle)?;
    let (found, ending) = if options.prove {
        let found = prove::enumerate(&problem, handle)?;
        (found, Status::Proved)
    } else {
        search(&problem, &straight, options, handle)?
    };
    let status = if handle.cancelled() {
        Status::Interrupted
    } else if found.score.violation > 0.0 {
        Status::Infeasible
    } else {
        ending
    };
    answer(&problem, &found, &straight, status, handle)
}

/// Descents with few frequencies from every start, then with all of them from the best ends.
fn search(
    problem: &Problem<'_>,
    straight: &Scored,
    options: Options,
    handle: &Handle,
) -> Result<(Scored, Status)> {
    let coarse = Problem::new(
        problem.study,
        COARSE_LINES.min(problem.study.lines_per_band),
    )?;
    let starts = starts(&coarse, straight, options.seed, handle)?;
    let share = options
        .budget_evaluations
        .map(|budget| budget / (starts.len() + FINE_STARTS) as u64);
    let mut ends = descend(&coarse, starts, handle, share)?;
    ends.sort_by(|a, b| a.best.score.order(b.best.score));
    ends.dedup_by(|next, kept| next.best.candidate == kept.best.candidate);
    let finalists = ends.into_iter().take(FINE_STARTS);
    let finalists = finalists.map(|end| end.best.candidate).collect();
    let ends = descend(problem, finalists, handle, share)?;
    let settled = ends.iter().all(|end| end.settled);
    let best = ends.into_iter().map(|end| end.best).reduce(Scored::better);
    let status = if settled {
        Status::Settled
    } else {
        Status::BudgetSpent
    };
    Ok((best.unwrap_or_else(|| straight.clone()), status))
}

fn descend(
    problem: &Problem<'_>,
    starts: Vec<Candidate>,
    handle: &Handle,
    share: Option<u64>,
) -> Result<Vec<End>> {
    starts
        .into_par_iter()
        .map(|start| Descent::new(problem, handle, share).from(start))
        .collect()
}

/// Start candidates: the computed curves that score best, the straight hang, the hang as given,
/// and random ones.
fn starts(
    problem: &Problem<'_>,
    straight: &Scored,
    seed: u64,
    handle: &Handle,
) -> Result<Vec<Candidate>> {
    let mut evaluator = Evaluator::new(problem);
    let mut curves = curves(problem)
        .into_iter()
        .take_while(|_| !handle.cancelled())
        .map(|candidate| {
            Ok((
                evaluator.evenness_db(&problem.lay(candidate.clone()))?,
                candidate,
            ))
        })
        .collect::<Result<Vec<_>>>()?;
    curves.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut starts: Vec<Candidate> = curves
        .into_iter()
        .take(CURVE_STARTS)
        .map(|(_, candidate)| candidate)
        .collect();
    starts.push(straight.candidate.clone());
    starts.push(Candidate {
        pins: problem.given_pins(),
        ..straight.candidate.clone()
    });
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    for _ in 0..RANDOM_STARTS {
        starts.push(random_candidate(problem, &mut random));
    }
    Ok(starts)
}

/// The law's curves for several falls of level, first axes and heights.
fn curves(problem: &Problem<'_>) -> Vec<Candidate> {
    let study = problem.study;
    let wanted = study.fall_db_per_doubling.map_or(0.0, |fall| -fall / 6.0);
    let hang = &study.hang;
    let height_m: Vec<f64> = hang.cabinets.iter().skip(1).map(|c| c.height_m).collect();
    let positions: Vec<&[f64]> = problem
        .variables
        .positions_deg
        .iter()
        .map(Vec::as_slice)
        .collect();
    let mut curves = Vec::new();
    for (top, &top_m) in problem.variables.tops_m.iter().enumerate() {
        let sight = Sight::new(problem.ears_m.iter().copied(), Vec2::new(0.0, top_m));
        for beta in [wanted, wanted + 0.25, wanted + 0.5] {
            for above_rad in [-0.02, 0.0, 0.02, 0.04] {
                let first_rad = sight.highest_rad() + above_rad;
                let splays_rad = start::curve_rad(&sight, first_rad, &height_m, beta);
                let pins = start::snapped(&splays_rad, &positions);
                let tilt_deg = first_rad.to_degrees() + hang.frame_splay_deg;
                let aim = problem.aim_near(&pins, top, tilt_deg);
                curves.push(Candidate { pins, aim, top });
            }
        }
    }
    curves
}

fn random_candidate(problem: &Problem<'_>, random: &mut Pcg64Mcg) -> Candidate {
    let mut below = |count: usize| (random.next_u64() % count as u64) as usize;
    let mut shares: Vec<f64> = problem
        .variables
        .positions_deg
        .iter()
        .map(|_| below(1 << 20) as f64 / f64::from(1 << 20))
        .collect();
    // Hangs grow rounder downwards; pins in no order at all are rarely worth a descent.
    shares.sort_by(f64::total_cmp);
    Candidate {
        pins: shares
            .iter()
            .zip(&problem.variables.positions_deg)
            .map(|(share, positions)| (share * positions.len() as f64) as usize)
            .collect(),
        aim: below(problem.variables.aim_count()),
        top: below(problem.variables.tops_m.len()),
    }
}

/// The straight hang at the tilt and height that serve best, constraints left aside. When
/// cancelled, the best of those seen.
fn best_straight(problem: &Problem<'_>, handle: &Handle) -> Result<Scored> {
    let aims = problem.variables.aim_count();
    let pins = problem.straight_pins();
    let bests = (0..problem.variables.tops_m.len())
        .into_par_iter()
        .map(|top| {
            let mut evaluator = Evaluator::new(problem);
            let mut best: Option<Scored> = None;
            for aim in 0..aims {
                if best.is_some() && handle.cancelled() {
                    break;
                }
                let pins = pins.clone();
                let laid = problem.lay(Candidate { pins, aim, top });
                let score = Score {
                    violation: 0.0,
                    evenness_db: evaluator.evenness_db(&laid)?,
                };
                let candidate = laid.candidate;
                let next = Scored { candidate, score };
                best = Some(match best {
                    Some(best) => best.better(next),
                    None => next,
                });
            }
            Ok(best)
        })
        .collect::<Result<Vec<_>>>()?;
    bests
        .into_iter()
        .flatten()
        .reduce(Scored::better)
        .ok_or_else(|| InputError::new("study", "no tilts or heights", "at least one of each"))
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
    let mut hang = problem.study.hang.clone();
    hang.splays_deg = laid.splays_deg.clone();
    Ok(Answer {
        status,
        hang: Valid::new(hang)?,
        tilt_deg: laid.tilt_deg,
        top_m: laid.top_m,
        pick_x_m: problem.pick_x_m(&laid),
        evenness_db: found.score.evenness_db,
        straight_evenness_db: straight.score.evenness_db,
        straight_tilt_deg: straight_laid.tilt_deg,
        straight_top_m: straight_laid.top_m,
        evaluations: handle.evaluations(),
        limits: mechanics.limits,
        margins: mechanics.margins,
    })
}
