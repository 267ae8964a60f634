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
//! over single, pair, bend and block moves, and two of these at once from the best; a proof looks at
//! every candidate. The same seed gives the same answer for any number of threads.

mod anneal;
pub mod answer;
mod around;
mod beyond;
mod building;
mod candidate;
mod company;
mod conditions;
mod constraints;
mod descent;
mod detail;
pub mod electronics;
mod ended;
mod evaluator;
mod figures;
mod handle;
mod hearing;
mod heat;
mod laid;
mod law;
mod likely;
mod listeners;
mod moves;
mod nearest;
mod one_hole;
mod problem;
mod prove;
mod race;
mod roughness;
mod shadows;
pub mod sound;
mod starts;
mod ties;
mod trade_off;
mod turn;

pub use answer::{Answer, CountRow};
pub use beyond::{Beyond, Range};
pub use constraints::{Constraint, Margin};
pub use electronics::{Electronics, electronics};
pub use ended::Ended;
pub use figures::{Figures, figures};
pub use handle::{Handle, Options};
pub use listeners::wanted_db;
pub use one_hole::{HoleRow, one_hole};
pub use trade_off::{Against, trade_off};
pub use turn::{Now, Turn, turn};

use crate::error::{InputError, Result};
use crate::model::{Study, Valid};
use answer::Found;
use around::Surroundings;
use candidate::Variables;
use descent::Score;
use detail::Detail;
use problem::Problem;
use race::{Most, race};
pub use sound::Sound;
use starts::{best_curve, best_straight};

/// Finds the pins, tilt and height of the least objective among those that can be hung.
/// Where the goals leave the number of cabinets open, every number is searched and the best hang
/// is the answer; of equals, the shortest. Of hangs as good as the best, the louder and then the
/// smoother is the answer.
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
        let left = options.budget_evaluations.map(|budget| {
            budget.saturating_sub(handle.evaluations()) / u64::from(most + 1 - count)
        });
        let options = Options {
            budget_evaluations: left,
            ..options
        };
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
    answer.evaluations = handle.evaluations();
    Ok(answer)
}

/// The answer of a study with its pins as they are: of its tilts and heights, those of the least
/// objective that can be hung. No pin is searched.
///
/// # Errors
/// As [`optimise_splays`].
pub fn evaluate(study: &Valid<Study>, handle: &Handle) -> Result<Answer> {
    let variables = Variables::as_pinned(study);
    let problem = Problem::varying(study, variables, Detail::full(study))?;
    let straight = best_straight(&Problem::new(study, Detail::full(study))?, u64::MAX, handle)?;
    let (best, _) = prove::enumerate(&problem, u64::MAX, handle)?;
    let found = Found::new(best, Ended::Given, Vec::new());
    answer::of(&problem, found, &straight, handle).map(|(_, answer)| answer)
}

/// The best of the law's curves through the seats, snapped to the pins: an answer in closed form,
/// with all cabinets, that nothing was searched for.
///
/// # Errors
/// As [`optimise_splays`].
pub fn by_law(study: &Valid<Study>, handle: &Handle) -> Result<Answer> {
    let all = Valid::new(shortened(study, study.hang.cabinets.len()))?;
    let problem = Problem::new(&all, Detail::full(&all))?;
    let straight = best_straight(&problem, u64::MAX, handle)?;
    let found = Found::new(best_curve(&problem, handle)?, Ended::ByLaw, Vec::new());
    answer::of(&problem, found, &straight, handle).map(|(_, answer)| answer)
}

/// The study with the first `count` cabinets alone.
fn shortened(study: &Study, count: usize) -> Study {
    let mut shorter = study.clone();
    shorter.hang.cabinets.truncate(count);
    shorter.hang.splays_deg.truncate(count - 1);
    shorter.goals.cabinet_range = None;
    shorter
}

/// Share of a budget that the straight hangs may use, and that looking around the best may.
const STRAIGHT_SHARE: u64 = 5;
const AROUND_SHARE: u64 = 10;

fn optimise_count(
    study: &Valid<Study>,
    options: Options,
    handle: &Handle,
) -> Result<(Score, Answer)> {
    let problem = Problem::new(study, Detail::full(study))?;
    let near = problem.coarser(Detail::near(study))?;
    let budget = options.budget_evaluations.unwrap_or(u64::MAX);
    let before = handle.evaluations();
    let straight = best_straight(&problem, budget / STRAIGHT_SHARE, handle)?;
    let around = budget / AROUND_SHARE;
    let left = (budget - around).saturating_sub(handle.evaluations() - before);
    let surroundings = Surroundings {
        problem: &problem,
        near: &near,
        handle,
    };
    let (mut found, alike) = if options.prove {
        let (best, whole) = prove::enumerate(&problem, left, handle)?;
        let ended = if whole {
            Ended::Proved
        } else {
            Ended::BudgetSpent
        };
        let seen = surroundings.look(best, around)?;
        (Found::new(seen.best, ended, Vec::new()), seen.alike)
    } else {
        let most = Most {
            heats: left,
            around,
        };
        race(surroundings, &straight, options.seed, most)?
    };
    let left = budget.saturating_sub(handle.evaluations() - before);
    found.answer(ties::broken(surroundings, &found.best, alike, left)?);
    answer::of(&problem, found, &straight, handle)
}
