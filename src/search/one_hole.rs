//! What does one hole up or down cost?
//!
//! The answer for the day a pin will not go in: for each joint, the neighbouring positions with the
//! change of the objective, of closing force and of the greatest joint force, and the first constraint
//! that would no longer be met.

use super::constraints::Constraint;
use super::detail::Detail;
use super::evaluator::Evaluator;
use super::problem::Problem;
use crate::error::{Result, accept};
use crate::model::{Study, Valid};
use crate::statics::limits::{LimitTable, Part};

/// How far a tilt or height may lie from a listed one and still be that one.
const LISTED: f64 = 1e-6;

/// One joint moved by one position, all others kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoleRow {
    /// Joint number; joint 1 lies below the first cabinet.
    pub joint: usize,
    /// The joint's position in the hang.
    pub from_deg: f64,
    /// The neighbouring position.
    pub to_deg: f64,
    /// Change of the objective; above 0 is worse.
    pub objective_change_db: f64,
    /// Change of the spread over the seats, as the goals measure it; above 0 is worse.
    pub spread_change_db: f64,
    /// Change of the mean level of the seats.
    pub mean_change_db: f64,
    /// Change of the closing force of a compression hang that a chain closes.
    pub closing_force_change_n: Option<f64>,
    /// Change of the greatest force on any hinge, link or stop.
    pub joint_force_change_n: f64,
    /// The constraint missed by most, if any.
    pub missed: Option<Constraint>,
}

/// Both neighbours of every pin of the study's hang at one of its tilts and heights.
///
/// # Errors
/// A tilt or height that the study does not list, or as
/// [`optimise_splays`](super::optimise_splays).
pub fn one_hole(study: &Valid<Study>, tilt_deg: f64, top_m: f64) -> Result<Vec<HoleRow>> {
    let problem = Problem::new(study, Detail::full(study))?;
    let pins = problem.given_pins();
    let tops_m = &problem.variables.tops_m;
    let top = super::law::nearest(tops_m, top_m);
    accept(
        (tops_m[top] - top_m).abs() <= LISTED,
        "top_m",
        top_m,
        format!("a height of the study, as {}", tops_m[top]),
    )?;
    let aim = problem.aim_near(&pins, top, tilt_deg);
    let base = problem.lay(problem.variables.candidate(pins.clone(), aim, top));
    accept(
        (base.tilt_deg - tilt_deg).abs() <= LISTED,
        "tilt_deg",
        tilt_deg,
        format!("a tilt of the study, as {}", base.tilt_deg),
    )?;

    let mut evaluator = Evaluator::new(&problem);
    let base_heard = evaluator.hear(&base)?;
    let base_mechanics = problem.mechanics(&base)?;
    let base_joint_n = greatest_joint_force_n(&base_mechanics.limits);
    evaluator.rebase(base);
    let mut rows = Vec::new();
    for joint in 0..pins.len() {
        for by in [-1, 1] {
            let positions = &problem.variables.positions_deg[joint];
            let Some(&to_deg) = pins[joint]
                .checked_add_signed(by)
                .and_then(|p| positions.get(p))
            else {
                continue;
            };
            let mut moved = pins.clone();
            moved[joint] = pins[joint].wrapping_add_signed(by);
            let laid = problem.lay(problem.variables.candidate(moved, aim, top));
            let heard = evaluator.hear(&laid)?;
            let mechanics = problem.mechanics(&laid)?;
            let margins = mechanics.margins.iter().chain(&heard.margins);
            rows.push(HoleRow {
                joint: joint + 1,
                from_deg: positions[pins[joint]],
                to_deg,
                objective_change_db: heard.objective_db - base_heard.objective_db,
                spread_change_db: heard.spread_db - base_heard.spread_db,
                mean_change_db: heard.mean_db - base_heard.mean_db,
                closing_force_change_n: mechanics
                    .closing_force_n
                    .zip(base_mechanics.closing_force_n)
                    .map(|(moved, base)| moved - base),
                joint_force_change_n: greatest_joint_force_n(&mechanics.limits) - base_joint_n,
                missed: margins
                    .filter(|margin| margin.margin < 0.0)
                    .min_by(|a, b| b.miss().total_cmp(&a.miss()))
                    .map(|margin| margin.constraint),
            });
        }
    }
    Ok(rows)
}

fn greatest_joint_force_n(limits: &LimitTable) -> f64 {
    limits
        .rows
        .iter()
        .filter(|row| matches!(row.part, Part::Hinge(_) | Part::RearLink(_) | Part::Stop(_)))
        .map(|row| row.demand)
        .fold(0.0, f64::max)
}
