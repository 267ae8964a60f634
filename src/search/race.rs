//! From many rough starts to one settled hang.
//!
//! A [`Heat`] runs from many starts to a few ends, and the best of these that hang apart go on with
//! cooler walks and descents. Then it is looked [around](super::around) the best of the ends. Where
//! no two runs ended with the best, another heat is run from other starts, for that runs which start
//! apart end together is what tells that an answer is settled.

use super::answer::Found;
use super::around::{Around, Surroundings};
use super::candidate::Candidate;
use super::descent::{End, Scored};
use super::ended::Ended;
use super::heat::{Heat, agree, as_good, best_of};
use crate::error::Result;

/// Heats, at the most.
const MOST_HEATS: u64 = 4;

/// How many evaluations may be made at the most.
#[derive(Clone, Copy)]
pub(super) struct Most {
    /// In heats.
    pub heats: u64,
    /// Around the best, after each heat.
    pub around: u64,
}

/// Where the best of the runs came to, and what ended or was seen around the ends.
pub(super) fn race(
    surroundings: Surroundings<'_, '_>,
    straight: &Scored,
    seed: u64,
    most: Most,
) -> Result<(Found, Vec<Scored>)> {
    let handle = surroundings.handle;
    let heat = Heat::new(surroundings, straight)?;
    let mut ends = Ends::default();
    let (mut left, mut left_around) = (most.heats, most.around);
    for number in 0..MOST_HEATS {
        // A heat with less than half of what the first one had would be a poorer one.
        let last = left < most.heats / 2 || handle.must_stop() || agree(&ends.runs);
        if number > 0 && last {
            break;
        }
        let before = handle.evaluations();
        let spent = || handle.evaluations() - before;
        let seed = seed.wrapping_add(number << 32);
        heat.run(seed, left, &mut ends.runs)?;
        heat.polish(&mut ends.runs, seed, left.saturating_sub(spent()))?;
        left = left.saturating_sub(spent());
        let before = handle.evaluations();
        ends.look_around(surroundings, left_around)?;
        left_around = left_around.saturating_sub(handle.evaluations() - before);
    }
    let ended = match () {
        () if !ends.runs.iter().all(|end| end.settled) => Ended::BudgetSpent,
        () if agree(&ends.runs) => Ended::Settled,
        () => Ended::Unsettled,
    };
    let best = best_of(&ends.runs).unwrap_or(straight).clone();
    let runs_db = ends.runs.iter().map(|end| end.best.score.objective_db);
    let found = Found::new(best, ended, runs_db.collect());
    let mut seen: Vec<Scored> = ends.runs.into_iter().map(|end| end.best).collect();
    seen.extend(ends.looked.into_iter().flat_map(|(_, around)| around.alike));
    Ok((found, seen))
}

/// Where runs ended, and around which of the ends it was looked.
#[derive(Default)]
struct Ends {
    runs: Vec<End>,
    looked: Vec<(Candidate, Around)>,
}

impl Ends {
    /// Looks around the ends that are as good as the best, the best first, until two agree on what
    /// is found there.
    fn look_around(&mut self, surroundings: Surroundings<'_, '_>, most: u64) -> Result<()> {
        let handle = surroundings.handle;
        let before = handle.evaluations();
        self.go_on();
        for from in as_good(&self.runs) {
            let mut looked = self.looked.iter();
            if !looked.any(|(start, around)| *start == from.candidate || around.best == from) {
                let left = most.saturating_sub(handle.evaluations() - before);
                let around = surroundings.look(from.clone(), left)?;
                self.looked.push((from.candidate, around));
                self.go_on();
            }
            if agree(&self.runs) {
                break;
            }
        }
        Ok(())
    }

    /// Runs that ended where it was looked around go on to what was found there.
    fn go_on(&mut self) {
        for end in &mut self.runs {
            let mut looked = self.looked.iter();
            if let Some((_, around)) = looked.find(|(from, _)| *from == end.best.candidate) {
                end.best = around.best.clone();
            }
        }
    }
}
