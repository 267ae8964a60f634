//! What the seats hear of one candidate after another, at the least cost.
//!
//! A change of pin j turns only the cabinets below joint j, so the fields of the upper ones are
//! kept. And the seats known so far bound the objective from below
//! ([`Running::least`](crate::acoustics::unevenness::Running::least)), so a candidate is given up as
//! soon as that bound is too much; nothing is lost by it.

use super::hearing::{Heard, Hearing, Most, Under};
use super::laid::Laid;
use super::problem::Problem;
use crate::acoustics::measures;
use crate::error::Result;
use crate::model::Over;

/// Evaluates candidates, keeping the fields of the upper cabinets of a base candidate.
pub(super) struct Evaluator<'p, 's> {
    problem: &'p Problem<'s>,
    base: Option<Laid>,
    /// One a condition.
    hearings: Vec<Hearing>,
    pub evaluations: u64,
}

impl<'p, 's> Evaluator<'p, 's> {
    pub(super) fn new(problem: &'p Problem<'s>) -> Self {
        let cabinets = problem.study.hang.cabinets.len();
        let hearings = problem.conditions.iter();
        Self {
            problem,
            base: None,
            hearings: hearings
                .enumerate()
                .map(|(index, condition)| Hearing::new(problem, index, condition, cabinets))
                .collect(),
            evaluations: 0,
        }
    }

    /// Number of cabinets, from the top, that stand in `laid` as they do in the base.
    fn shared(&self, laid: &Laid) -> usize {
        let Some(base) = &self.base else {
            return 0;
        };
        let same_top = base.candidate.top == laid.candidate.top;
        if !same_top || base.tilt_deg.to_bits() != laid.tilt_deg.to_bits() {
            return 0;
        }
        let pins = base.candidate.pins.iter().zip(&laid.candidate.pins);
        let turned = 1 + pins.take_while(|(a, b)| a == b).count();
        let gains = base.candidate.gains.iter().zip(&laid.candidate.gains);
        match gains.clone().position(|(a, b)| a != b) {
            Some(regained) => turned.min(regained),
            None => turned,
        }
    }

    /// Makes `laid` the base whose upper cabinets are kept.
    pub(super) fn rebase(&mut self, laid: Laid) {
        let shared = self.shared(&laid);
        for hearing in &mut self.hearings {
            hearing.valid = hearing.valid.min(shared + 1);
        }
        self.base = Some(laid);
    }

    /// What the seats hear of `laid`.
    pub(super) fn hear(&mut self, laid: &Laid) -> Result<Heard> {
        self.add_up(laid, Most::Surely(f64::INFINITY))?;
        self.heard(laid)
    }

    /// What the seats hear of `laid`; none as soon as its objective is known to exceed `most_db`.
    pub(super) fn hear_within(&mut self, laid: &Laid, most_db: f64) -> Result<Option<Heard>> {
        let whole = self.add_up(laid, Most::Surely(most_db))?;
        whole.then(|| self.heard(laid)).transpose()
    }

    /// The same; none as soon as its objective is likely to exceed `most_db`, to go by the seats
    /// heard so far of it and of the one that was [marked](Self::mark).
    pub(super) fn hear_likely_within(
        &mut self,
        laid: &Laid,
        most_db: f64,
    ) -> Result<Option<Heard>> {
        let whole = self.add_up(laid, Most::Likely(most_db))?;
        whole.then(|| self.heard(laid)).transpose()
    }

    /// Lets those to come be told likely or not by the candidate heard last.
    pub(super) fn mark(&mut self) {
        for hearing in &mut self.hearings {
            hearing.mark();
        }
    }

    /// Works out the fields of `laid` and their levels; false where it stopped early because the
    /// objective exceeds `most`.
    fn add_up(&mut self, laid: &Laid, most: Most) -> Result<bool> {
        self.evaluations += 1;
        let shared = self.shared(laid);
        let problem = self.problem;
        let count = self.hearings.len();
        let mut sum_db = 0.0;
        let hearings = self.hearings.iter_mut().zip(&problem.conditions);
        for (index, (hearing, condition)) in hearings.enumerate() {
            // Of a mean over several, only the last one's share is known to be too much.
            let most = match problem.study.goals.over {
                Over::Worst => most,
                Over::Mean if index + 1 == count => {
                    most.map(|most_db| most_db * count as f64 - sum_db)
                }
                Over::Mean => Most::Surely(f64::INFINITY),
            };
            let condition = &Under { index, condition };
            if let Some(base) = &self.base {
                hearing.keep(problem, condition, base, shared)?;
            }
            if !hearing.add_up(problem, condition, laid, shared, most)? {
                return Ok(false);
            }
            if count > 1 {
                sum_db += hearing.objective_db(problem, condition, laid);
            }
        }
        Ok(true)
    }

    /// What is measured of the last candidate, over all conditions.
    fn heard(&self, laid: &Laid) -> Result<Heard> {
        let heard = self.each_heard(laid);
        let objectives = heard.iter().map(|heard| heard.objective_db);
        let objective_db = match self.problem.study.goals.over {
            Over::Worst => objectives.fold(f64::NEG_INFINITY, f64::max),
            Over::Mean => objectives.sum::<f64>() / heard.len() as f64,
        };
        measures::where_all_hear(objective_db)?;
        let mut heard = heard.into_iter();
        let first = heard.next();
        let all = heard.fold(first, |all, next| {
            all.map(|all| all.with_worst_margins(next))
        });
        all.map(|all| Heard {
            objective_db,
            ..all
        })
        .ok_or_else(|| crate::error::InputError::new("air", "none", "at least one"))
    }

    /// What is measured of the last candidate under each condition.
    pub(super) fn each_heard(&self, laid: &Laid) -> Vec<Heard> {
        let hearings = self.hearings.iter().zip(&self.problem.conditions);
        hearings
            .enumerate()
            .map(|(index, (hearing, condition))| {
                let condition = Under { index, condition };
                hearing.heard(self.problem, &condition, laid)
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{QuietPlace, Study, Valid, from_json};
    use crate::search::detail::Detail;
    use crate::search::moves;
    use rand_pcg::Pcg64Mcg;
    use rand_pcg::rand_core::SeedableRng;

    #[test]
    fn a_candidate_is_given_up_only_where_its_objective_exceeds_the_most() {
        let text = include_str!("../../python/hangarc/demo/study.json");
        let study = from_json::<Study>(text).unwrap();
        let mut falling = (*study).clone();
        falling.fall_db_per_doubling = Some(-3.0);
        falling.goals.spectral_weight = 0.5;
        falling.goals.quiet_places.push(QuietPlace {
            name: "stage (demo data)".into(),
            place_m: [-5.0, 0.0, 1.6],
            most_db: -10.0,
        });
        given_up_rightly(&study);
        given_up_rightly(&Valid::new(falling).unwrap());
    }

    #[test]
    fn single_precision_keeps_the_objective_to_hundredths_of_a_decibel() {
        let text = include_str!("../../python/hangarc/demo/study.json");
        let study = from_json::<Study>(text).unwrap();
        let near = Detail::near(&study);
        let problem = |single| Problem::new(&study, Detail { single, ..near }).unwrap();
        let (single, double) = (problem(true), problem(false));
        let (mut rough, mut exact) = (Evaluator::new(&single), Evaluator::new(&double));
        let mut random = Pcg64Mcg::seed_from_u64(5);
        let pins = double.straight_pins();
        let mut candidate = double.variables.candidate(pins, 3, 2);
        let mut worst: f64 = 0.0;
        for _ in 0..60 {
            if let Some(next) = moves::random(&candidate, &double.variables, &mut random) {
                candidate = next;
            }
            let laid = double.lay(candidate.clone());
            let off = |heard: f64, exact: f64| (heard - exact).abs();
            let (heard, exact) = (rough.hear(&laid).unwrap(), exact.hear(&laid).unwrap());
            worst = worst
                .max(off(heard.objective_db, exact.objective_db))
                .max(off(heard.mean_db, exact.mean_db));
        }
        assert!((1e-9..0.005).contains(&worst), "{worst}");
    }

    #[test]
    fn what_is_likely_too_much_mostly_is() {
        let text = include_str!("../../python/hangarc/demo/study.json");
        let study = from_json::<Study>(text).unwrap();
        for detail in [Detail::sketch(&study), Detail::near(&study)] {
            let problem = Problem::new(&study, detail).unwrap();
            let (mut whole, mut likely) = (Evaluator::new(&problem), Evaluator::new(&problem));
            let mut random = Pcg64Mcg::seed_from_u64(6);
            let pins = problem.straight_pins();
            let laid = problem.lay(problem.variables.candidate(pins, 3, 2));
            let mut here_db = whole.hear(&laid).unwrap().objective_db;
            likely.hear(&laid).unwrap();
            let mut candidate = laid.candidate.clone();
            likely.mark();
            whole.rebase(laid.clone());
            likely.rebase(laid);
            let (mut taken, mut missed, mut left) = (0, 0, 0);
            for _ in 0..1500 {
                let next = moves::random(&candidate, &problem.variables, &mut random);
                let Some(next) = next else { continue };
                let laid = problem.lay(next);
                let most_db = here_db + 0.02;
                let heard = whole.hear(&laid).unwrap();
                let found = likely.hear_likely_within(&laid, most_db).unwrap();
                let good = heard.objective_db <= most_db;
                match found {
                    Some(found) => assert_eq!(found, heard),
                    None if good => missed += 1,
                    None => left += 1,
                }
                if good {
                    taken += 1;
                    likely.hear(&laid).unwrap();
                    likely.mark();
                    here_db = heard.objective_db;
                    candidate = laid.candidate.clone();
                    whole.rebase(laid.clone());
                    likely.rebase(laid);
                }
            }
            // Few of the good ones are missed, and many of the others need not be heard to the end.
            assert!(taken > 150 && missed * 20 < taken, "{missed} of {taken}");
            assert!(left > 300, "{left}");
        }
    }

    fn given_up_rightly(study: &Valid<Study>) {
        let problem = Problem::new(study, Detail::sketch(study)).unwrap();
        let (mut whole, mut within) = (Evaluator::new(&problem), Evaluator::new(&problem));
        let mut random = Pcg64Mcg::seed_from_u64(4);
        let pins = problem.straight_pins();
        let mut candidate = problem.variables.candidate(pins, 3, 2);
        let (mut known, mut given_up) = (0, 0);
        for step in 0..150 {
            let next = moves::random(&candidate, &problem.variables, &mut random);
            let Some(next) = next else { continue };
            let laid = problem.lay(next);
            let heard = whole.hear(&laid).unwrap();
            for most_db in [-4.0, -1.5, 0.0, 0.3].map(|more| heard.objective_db + more) {
                match within.hear_within(&laid, most_db).unwrap() {
                    Some(same) => {
                        assert_eq!(same, heard);
                        known += 1;
                    }
                    None => {
                        assert!(heard.objective_db > most_db);
                        given_up += 1;
                    }
                }
            }
            if step % 3 == 0 {
                candidate = laid.candidate.clone();
                whole.rebase(laid.clone());
                within.rebase(laid);
            }
        }
        assert!(known > 150 && given_up > 75, "{known} {given_up}");
    }
}
