//! Does the answer stand at the end of a range, and what would a step beyond give?

use super::candidate::{Aims, Candidate};
use super::constraints::Constraint;
use super::descent::{Score, Scored};
use super::evaluator::Evaluator;
use super::laid::Laid;
use super::problem::Problem;
use crate::error::Result;

/// Joints that are turned with the step, and by how many positions: what the frame is turned by,
/// the upper joints can take back.
const TURNED_JOINTS: usize = 3;
const TURNS: [isize; 4] = [-2, -1, 1, 2];

/// Which range ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Range {
    /// Tilts of the fly frame, in degrees.
    Tilt,
    /// Heights of cabinet 0's upper front hinge, in metres.
    Top,
}

/// An end of a range at which the answer stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beyond {
    /// The range.
    pub range: Range,
    /// Its end.
    pub end: f64,
    /// One step beyond.
    pub next: f64,
    /// Change of the objective there, with one of the upper joints turned where that helps; below 0
    /// is better.
    pub objective_change_db: f64,
    /// The constraint missed there, if any.
    pub missed: Option<Constraint>,
}

/// The ends of ranges at which `found` stands.
pub(super) fn ends(problem: &Problem<'_>, found: &Scored) -> Result<Vec<Beyond>> {
    let study = problem.study;
    let here = problem.lay(found.candidate.clone());
    let mut beyond = Vec::new();
    if let Aims::Held(tilts_deg) = &problem.variables.aims {
        let step = study.tilt_step_deg;
        if let Some(next) = past(tilts_deg, found.candidate.aim, step) {
            let end = here.tilt_deg;
            beyond.push(at(problem, found, Range::Tilt, end, next, |candidate| {
                problem.lay_at(candidate, next, here.top_m)
            })?);
        }
    }
    let next = past(
        &problem.variables.tops_m,
        found.candidate.top,
        study.top_step_m,
    );
    if let Some(next) = next.filter(|&next| next > 0.0) {
        let end = here.top_m;
        beyond.push(at(problem, found, Range::Top, end, next, |candidate| {
            problem.lay_at(candidate, here.tilt_deg, next)
        })?);
    }
    Ok(beyond)
}

/// The value a step beyond the end of a list at which it stands; none within, nor of a list of one.
fn past(values: &[f64], index: usize, step: f64) -> Option<f64> {
    match index {
        _ if values.len() < 2 => None,
        0 => Some(values[0] - step),
        last if last + 1 == values.len() => Some(values[last] + step),
        _ => None,
    }
}

fn at(
    problem: &Problem<'_>,
    found: &Scored,
    range: Range,
    end: f64,
    next: f64,
    lay: impl Fn(Candidate) -> Laid,
) -> Result<Beyond> {
    let mut evaluator = Evaluator::new(problem);
    let mut best: Option<(Score, Option<Constraint>)> = None;
    for pins in turned(problem, &found.candidate.pins) {
        let laid = lay(Candidate {
            pins,
            ..found.candidate.clone()
        });
        let score = Score::of(problem, &mut evaluator, &laid)?;
        if best.is_none_or(|(kept, _)| score.betters(kept)) {
            let margins = problem.mechanics(&laid)?.margins;
            let worst = margins
                .iter()
                .filter(|margin| margin.margin < 0.0)
                .max_by(|a, b| a.miss().total_cmp(&b.miss()));
            best = Some((score, worst.map(|margin| margin.constraint)));
        }
    }
    let (score, missed) = best.unwrap_or((found.score, None));
    Ok(Beyond {
        range,
        end,
        next,
        objective_change_db: score.objective_db - found.score.objective_db,
        missed,
    })
}

/// The pins as they are, and with one of the upper joints turned.
fn turned(problem: &Problem<'_>, pins: &[usize]) -> Vec<Vec<usize>> {
    let mut all = vec![pins.to_vec()];
    for joint in 0..pins.len().min(TURNED_JOINTS) {
        let count = problem.variables.positions_deg[joint].len();
        for by in TURNS {
            if let Some(pin) = pins[joint]
                .checked_add_signed(by)
                .filter(|&pin| pin < count)
            {
                let mut next = pins.to_vec();
                next[joint] = pin;
                all.push(next);
            }
        }
    }
    all
}
