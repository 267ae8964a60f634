//! The candidates from which descents start.

use super::candidate::Candidate;
use super::descent::{Score, Scored};
use super::evaluator::Evaluator;
use super::handle::Handle;
use super::law::{self, Sight};
use super::problem::Problem;
use crate::error::{InputError, Result};
use crate::pose::Vec2;
use crate::threads;
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng, SeedableRng};

/// One start in so many is the best computed curve not yet taken.
const CURVE_EVERY: usize = 2;

/// Aims that a thread looks at in a row.
const AIMS_A_RUN: usize = 16;

/// How far apart `count` things are to be taken lest they be more than `most`.
fn every(count: usize, most: u64) -> usize {
    (count as u64).div_ceil(most.max(1)).max(1) as usize
}

/// So many start candidates: the computed curves that score best, at most `most` of them heard, the
/// straight hang, the hang as given, and random ones.
pub(super) fn starts(
    problem: &Problem<'_>,
    straight: &Scored,
    count: usize,
    seed: u64,
    most: u64,
    handle: &Handle,
) -> Result<Vec<Candidate>> {
    let mut evaluator = Evaluator::new(problem);
    let curves = curves(problem, handle);
    let every = every(curves.len(), most);
    let mut curves = curves
        .into_iter()
        .step_by(every)
        .take_while(|_| !handle.must_stop())
        .map(|candidate| {
            handle.count(1);
            let heard = evaluator.hear(&problem.lay(candidate.clone()))?;
            Ok((heard.objective_db, candidate))
        })
        .collect::<Result<Vec<_>>>()?;
    curves.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut starts: Vec<Candidate> = curves
        .into_iter()
        .take(count.div_ceil(CURVE_EVERY))
        .map(|(_, candidate)| candidate)
        .collect();
    starts.push(straight.candidate.clone());
    starts.push(Candidate {
        pins: problem.given_pins(),
        ..straight.candidate.clone()
    });
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    while starts.len() < count {
        starts.push(random_candidate(problem, &mut random));
    }
    starts.truncate(count);
    Ok(starts)
}

/// The best of the law's curves as this problem judges them.
pub(super) fn best_curve(problem: &Problem<'_>, handle: &Handle) -> Result<Scored> {
    let mut evaluator = Evaluator::new(problem);
    let mut best: Option<Scored> = None;
    for candidate in curves(problem, handle) {
        if best.is_some() && handle.must_stop() {
            break;
        }
        let laid = problem.lay(candidate);
        let score = Score::of(problem, &mut evaluator, &laid)?;
        handle.count(1);
        let candidate = laid.candidate;
        let next = Scored { candidate, score };
        best = Some(match best {
            Some(best) => best.better(next),
            None => next,
        });
    }
    best.ok_or_else(|| InputError::new("study", "no tilts or heights", "at least one of each"))
}

/// The law's curves for several falls of level, first axes and heights; when cancelled, those of
/// the first heights.
fn curves(problem: &Problem<'_>, handle: &Handle) -> Vec<Candidate> {
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
        if top > 0 && handle.must_stop() {
            break;
        }
        let sight = Sight::new(problem.ears_m.iter().copied(), Vec2::new(0.0, top_m));
        for beta in [wanted, wanted + 0.25, wanted + 0.5] {
            for above_rad in [-0.02, 0.0, 0.02, 0.04] {
                let first_rad = sight.highest_rad() + above_rad;
                let splays_rad = law::curve_rad(&sight, first_rad, &height_m, beta);
                let pins = law::snapped(&splays_rad, &positions);
                let tilt_deg = first_rad.to_degrees() + hang.frame_splay_deg;
                let aim = problem.aim_near(&pins, top, tilt_deg);
                curves.push(problem.variables.candidate(pins, aim, top));
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
    let pins = shares
        .iter()
        .zip(&problem.variables.positions_deg)
        .map(|(share, positions)| (share * positions.len() as f64) as usize)
        .collect();
    let aim = below(problem.variables.aim_count());
    let top = below(problem.variables.tops_m.len());
    problem.variables.candidate(pins, aim, top)
}

/// The straight hang at the tilt and height that serve best, constraints left aside, of at most so
/// many. When cancelled, the best of those seen.
pub(super) fn best_straight(problem: &Problem<'_>, most: u64, handle: &Handle) -> Result<Scored> {
    let aims = problem.variables.aim_count();
    let pins = problem.straight_pins();
    let tops = problem.variables.tops_m.len();
    let every_top = every(tops, most);
    let every_aim = every(aims, most / tops.div_ceil(every_top) as u64);
    let aims: Vec<usize> = (0..aims).step_by(every_aim).collect();
    let tops = (0..tops).step_by(every_top);
    let runs = tops.flat_map(|top| aims.chunks(AIMS_A_RUN).map(move |aims| (top, aims)));
    let bests = threads::map(runs.enumerate(), |(run, (top, aims))| {
        if run > 0 && handle.must_stop() {
            return Ok(None);
        }
        let mut evaluator = Evaluator::new(problem);
        let mut best: Option<Scored> = None;
        for &aim in aims {
            if best.is_some() && handle.must_stop() {
                break;
            }
            handle.count(1);
            let laid = problem.lay(problem.variables.candidate(pins.clone(), aim, top));
            let least_db = best
                .as_ref()
                .map_or(f64::INFINITY, |b| b.score.objective_db);
            let Some(heard) = evaluator.hear_within(&laid, least_db)? else {
                continue;
            };
            let score = Score {
                violation: 0.0,
                ..Score::of_heard(&heard)
            };
            let candidate = laid.candidate;
            let next = Scored { candidate, score };
            best = Some(match best {
                Some(best) => best.better(next),
                None => next,
            });
        }
        Ok(best)
    });
    let bests = bests.into_iter().collect::<Result<Vec<_>>>()?;
    bests
        .into_iter()
        .flatten()
        .reduce(Scored::better)
        .ok_or_else(|| InputError::new("study", "no tilts or heights", "at least one of each"))
}
