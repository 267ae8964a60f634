//! Of hangs as good as the best, which one? The louder, then the smoother.

use super::around::Surroundings;
use super::descent::{AS_GOOD_DB, Scored};
use crate::error::Result;

/// Levels this near are alike.
const AS_LOUD_DB: f64 = 0.05;

/// It is gone on from smoother hangs so often, at the most.
const MOST_STEPS: usize = 8;

/// The louder, then the smoother, of the best and of those `others` that are as good; then on from
/// the smoother one, move by move, for as long as a hang as good and as loud is smoother still.
pub(super) fn broken(
    surroundings: Surroundings<'_, '_>,
    best: &Scored,
    others: Vec<Scored>,
    most: u64,
) -> Result<Scored> {
    let Surroundings {
        problem, handle, ..
    } = surroundings;
    let before = handle.evaluations();
    let mut alike = others;
    alike.retain(|other| {
        other.score.violation <= best.score.violation
            && other.score.objective_db <= best.score.objective_db + AS_GOOD_DB
    });
    alike.insert(0, best.clone());
    let levels_db = alike.iter().map(|one| one.score.mean_db);
    let loud_db = levels_db.fold(f64::MIN, f64::max) - AS_LOUD_DB;
    let mut here = best.clone();
    for _ in 0..MOST_STEPS {
        alike.retain(|one| one.score.mean_db >= loud_db);
        let smooth = |one: &Scored| problem.roughness_deg(&problem.lay(one.candidate.clone()));
        let smoothest = alike.into_iter().min_by(|one, other| {
            let [a, b] = [one, other].map(smooth);
            a.total_cmp(&b).then(one.by_score(other))
        });
        let Some(next) = smoothest.filter(|next| next.candidate != here.candidate) else {
            break;
        };
        let left = most.saturating_sub(handle.evaluations() - before);
        alike = surroundings.smoother(&next, best, left)?;
        alike.insert(0, next.clone());
        here = next;
    }
    Ok(here)
}
