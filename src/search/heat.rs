//! A heat of the search: three rounds, of which each hears more and of fewer hangs.
//!
//! Many walks that cool ([`anneal`]) among sketches; walks with all seats and more lines from those
//! ends that are best and hang apart from each other, or from starts of their own where these are too
//! few; and descents in full until no move betters
//! them ([`Descent`]).

use super::anneal::{Cooling, anneal};
use super::around::Surroundings;
use super::candidate::Candidate;
use super::descent::{AS_GOOD_DB, Descent, End, Scored};
use super::detail::Detail;
use super::handle::Handle;
use super::moves::strides;
use super::problem::Problem;
use super::starts::starts;
use crate::error::Result;
use crate::threads;

/// Walks among sketches, walks with all seats, descents that are made in any case, and walks that
/// polish.
const SKETCHED_WALKS: usize = 12;
const NEAR_WALKS: usize = 4;
const FIRST_DESCENTS: usize = 2;
const POLISHING_WALKS: usize = 2;

/// Steps are for a hang of so many joints, height and tilt, and lists of pins that this many strides
/// cross; others walk in proportion to theirs, but none less than one of few joints.
const USUAL_CHOICES: f64 = 15.0;
const LEAST_CHOICES: f64 = 9.0;
const USUAL_STRIDES: f64 = 2.0;

/// How a walk of each kind cools.
const SKETCHED: Cooling = Cooling {
    steps: 1500.0,
    hot: 0.03,
    cold: 0.002,
};
const NEAR: Cooling = Cooling {
    steps: 1150.0,
    hot: 0.03,
    cold: 0.001,
};
const POLISHING: Cooling = Cooling { hot: 0.015, ..NEAR };

/// Hangs whose cabinets all stand within this of one another's angles are one hang.
const APART_DEG: f64 = 1.0;

/// Shares of a budget: hearing the starts, walking among sketches, walking with all seats; descents
/// have the rest. Polishing has its own, half for walks, half for descents.
const STARTS_SHARE: f64 = 0.1;
const SKETCHED_SHARE: f64 = 0.4;
const NEAR_SHARE: f64 = 0.15;
const DESCENTS_SHARE: f64 = 0.2;

/// A walk that may make fewer evaluations is not worth starting beside another one.
const LEAST_WALK: f64 = 50.0;

/// Misses of the constraints this near are alike.
const AS_MISSED: f64 = 1e-12;

/// What every heat of a search is run with.
pub(super) struct Heat<'p, 's> {
    problem: &'p Problem<'s>,
    near: &'p Problem<'s>,
    sketch: Problem<'s>,
    straight: &'p Scored,
    handle: &'p Handle,
}

impl<'p, 's> Heat<'p, 's> {
    pub(super) fn new(around: Surroundings<'p, 's>, straight: &'p Scored) -> Result<Self> {
        let Surroundings {
            problem,
            near,
            handle,
        } = around;
        Ok(Self {
            problem,
            near,
            sketch: problem.coarser(Detail::sketch(problem.study))?,
            straight,
            handle,
        })
    }

    /// Runs a heat, whose ends are added to those of the runs before it; a part of `most`
    /// evaluations is left for polishing.
    pub(super) fn run(&self, seed: u64, most: u64, runs: &mut Vec<End>) -> Result<()> {
        let share = |part: f64| part * most as f64;
        let sketched = fitting(share(SKETCHED_SHARE), SKETCHED_WALKS);
        let walks = fitting(share(NEAR_SHARE), NEAR_WALKS);
        let heard = share(STARTS_SHARE) as u64;
        let count = sketched + walks;
        let mut starts = starts(&self.sketch, self.straight, count, seed, heard, self.handle)?;
        let fresh = starts.split_off(sketched);
        let cooling = self.long_enough(SKETCHED, share(SKETCHED_SHARE) / sketched as f64);
        let walked = self.walk(&self.sketch, starts, cooling, seed)?;
        let chosen = self.best_apart(&walked).into_iter();
        let chosen = chosen.map(|end| walked[end].candidate.clone()).chain(fresh);
        let chosen = chosen.take(walks).collect();
        let cooling = self.long_enough(NEAR, share(NEAR_SHARE) / walks as f64);
        let seed = seed.wrapping_add(SKETCHED_WALKS as u64);
        let mut walked = self.walk(self.near, chosen, cooling, seed)?;
        walked.sort_by(Scored::by_score);
        let descent = share(DESCENTS_SHARE) as u64 / walks as u64;
        let others = walked.split_off(FIRST_DESCENTS.min(walked.len()));
        runs.extend(self.descend(walked, descent, runs)?);
        if !others.is_empty() && !agree(runs) {
            runs.extend(self.descend(others, descent, runs)?);
        }
        Ok(())
    }

    /// The best runs that hang apart from each other go on, with a cooler walk and a descent each; none
    /// where `most` evaluations are too few.
    pub(super) fn polish(&self, runs: &mut [End], seed: u64, most: u64) -> Result<()> {
        let share = most / (2 * POLISHING_WALKS as u64);
        if (share as f64) < LEAST_WALK {
            return Ok(());
        }
        let mut chosen = self.best_apart(runs.iter().map(|end| &end.best));
        chosen.truncate(POLISHING_WALKS);
        let cooling = self.long_enough(POLISHING, share as f64);
        let seed = seed.wrapping_add((SKETCHED_WALKS + NEAR_WALKS) as u64);
        let starts = chosen.iter().map(|&run| runs[run].best.candidate.clone());
        let walked = self.walk(self.near, starts.collect(), cooling, seed)?;
        let ends = self.descend(walked, share, runs)?;
        for (run, end) in chosen.into_iter().zip(ends) {
            if end.best.score.betters(runs[run].best.score) {
                runs[run] = end;
            }
        }
        Ok(())
    }

    /// Where a walk from each start ends; each has a seed of its own.
    fn walk(
        &self,
        problem: &Problem<'_>,
        starts: Vec<Candidate>,
        cooling: Cooling,
        seed: u64,
    ) -> Result<Vec<Scored>> {
        let ends = threads::map(starts.into_iter().enumerate(), |(number, start)| {
            let seed = seed.wrapping_add(number as u64);
            anneal(problem, self.handle, start, cooling, seed)
        });
        ends.into_iter().collect()
    }

    /// Where a descent from each start ends, of at most so many evaluations each. From where one of the
    /// `runs` has settled, or from the same start twice, none is made again.
    fn descend(&self, starts: Vec<Scored>, most: u64, runs: &[End]) -> Result<Vec<End>> {
        let settled = |start: &Candidate| {
            let mut settled = runs.iter().filter(|end| end.settled);
            settled.find(|end| end.best.candidate == *start).cloned()
        };
        let mut fresh: Vec<Candidate> = Vec::new();
        for Scored { candidate, .. } in &starts {
            if settled(candidate).is_none() && !fresh.contains(candidate) {
                fresh.push(candidate.clone());
            }
        }
        let ends = threads::map(fresh.iter(), |start| {
            Descent::new(self.problem, self.handle, most).settle(start.clone())
        });
        let ends = ends.into_iter().collect::<Result<Vec<End>>>()?;
        let ended = |start: &Scored| {
            let at = fresh.iter().position(|from| *from == start.candidate);
            at.map_or_else(|| settled(&start.candidate), |at| ends.get(at).cloned())
        };
        Ok(starts.iter().filter_map(ended).collect())
    }

    /// A walk long enough for this hang, of at most so many evaluations.
    fn long_enough(&self, cooling: Cooling, most: f64) -> Cooling {
        let variables = &self.problem.variables;
        let choices = (variables.positions_deg.len() + 2) as f64;
        let choices = choices.max(LEAST_CHOICES) / USUAL_CHOICES;
        let strides = f64::from(strides(variables)) / USUAL_STRIDES;
        cooling.longer(choices * strides).within(most)
    }

    /// Which of some ends hang apart from all better ones, the best first.
    fn best_apart<'e>(&self, ends: impl IntoIterator<Item = &'e Scored>) -> Vec<usize> {
        let mut ends: Vec<(usize, &Scored)> = ends.into_iter().enumerate().collect();
        ends.sort_by(|(_, here), (_, there)| here.by_score(there));
        let mut chosen: Vec<(Vec<f64>, usize)> = Vec::new();
        for (number, Scored { candidate, .. }) in ends {
            let axis_rad = self.problem.lay(candidate.clone()).pose.axis_rad;
            if chosen
                .iter()
                .all(|(kept_rad, _)| apart(kept_rad, &axis_rad))
            {
                chosen.push((axis_rad, number));
            }
        }
        chosen.into_iter().map(|(_, number)| number).collect()
    }
}

/// Whether some cabinet hangs at another angle.
fn apart(here_rad: &[f64], there_rad: &[f64]) -> bool {
    let mut angles = here_rad.iter().zip(there_rad);
    angles.any(|(here, there)| (here - there).to_degrees().abs() > APART_DEG)
}

/// How many walks share so many evaluations, `most` where all can be long enough.
fn fitting(share: f64, most: usize) -> usize {
    ((share / LEAST_WALK) as usize).clamp(1, most)
}

/// The best of the ends.
pub(super) fn best_of(ends: &[End]) -> Option<&Scored> {
    let ends = ends.iter().map(|end| &end.best);
    ends.reduce(|best, end| {
        if end.score.betters(best.score) {
            end
        } else {
            best
        }
    })
}

/// The ends that are as good as the best of them, the best first.
pub(super) fn as_good(runs: &[End]) -> Vec<Scored> {
    let Some(Scored { score: least, .. }) = best_of(runs) else {
        return Vec::new();
    };
    let ends = runs.iter().map(|end| &end.best);
    let as_good = ends.filter(|end| {
        end.score.violation <= least.violation + AS_MISSED
            && end.score.objective_db <= least.objective_db + AS_GOOD_DB
    });
    let mut as_good: Vec<Scored> = as_good.cloned().collect();
    as_good.sort_by(Scored::by_score);
    as_good
}

/// Whether at least two of the runs ended as well as the best of them.
pub(super) fn agree(runs: &[End]) -> bool {
    as_good(runs).len() > 1
}
