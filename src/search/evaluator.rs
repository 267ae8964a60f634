//! What the seats hear of one candidate after another, at the least cost.
//!
//! A change of pin j turns only the cabinets below joint j, so the fields of the upper ones are
//! kept. And as Σ w (L − L̄)² over some seats is never more than over all, a candidate is given up
//! as soon as the seats known so far make it too uneven; nothing is lost by it.

use super::problem::{Heard, Laid, Problem};
use crate::acoustics::measures::{self, LeastSpread};
use crate::acoustics::{Adding, Field};
use crate::error::Result;

/// Evaluates candidates, keeping the fields of the upper cabinets of a base candidate.
pub(super) struct Evaluator<'p, 's> {
    problem: &'p Problem<'s>,
    base: Option<Laid>,
    /// Field of the first k cabinets of the base, for each k below `valid`.
    kept: Vec<Field>,
    valid: usize,
    /// Of the last candidate: its field, and the levels of seats and places.
    field: Field,
    levels_db: Vec<f64>,
    pub evaluations: u64,
}

impl<'p, 's> Evaluator<'p, 's> {
    pub(super) fn new(problem: &'p Problem<'s>) -> Self {
        let silent = Field::silent(&problem.seats, &problem.lines);
        Self {
            problem,
            base: None,
            kept: vec![silent.clone(); problem.study.hang.cabinets.len() + 1],
            valid: 1,
            field: silent,
            levels_db: Vec::new(),
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
        self.valid = self.valid.min(self.shared(&laid) + 1);
        self.base = Some(laid);
    }

    /// Works out the kept fields up to that of the first `cabinets` of the base.
    fn keep(&mut self, cabinets: usize) -> Result<()> {
        let Some(base) = self.base.take() else {
            return Ok(());
        };
        for cabinet in self.valid - 1..cabinets {
            let problem = self.problem;
            let sources = problem.sources(&base, cabinet..cabinet + 1)?;
            let adding = Adding::new(&sources, &problem.seats, &problem.lines);
            let (above, below) = self.kept.split_at_mut(cabinet + 1);
            for tile in 0..adding.tiles() {
                adding.add_to(tile, &above[cabinet], &mut below[0]);
            }
            self.valid = cabinet + 2;
        }
        self.base = Some(base);
        Ok(())
    }

    /// What the seats hear of `laid`.
    pub(super) fn hear(&mut self, laid: &Laid) -> Result<Heard> {
        self.add_up(laid, f64::INFINITY)?;
        self.heard()
    }

    /// What the seats hear of `laid`; none as soon as its objective is known to exceed `most_db`.
    pub(super) fn hear_within(&mut self, laid: &Laid, most_db: f64) -> Result<Option<Heard>> {
        let whole = self.add_up(laid, most_db)?;
        whole.then(|| self.heard()).transpose()
    }

    /// Works out the field of `laid` and its levels; false where it stopped early because the
    /// evenness must exceed `most_db`.
    fn add_up(&mut self, laid: &Laid, most_db: f64) -> Result<bool> {
        self.evaluations += 1;
        let shared = self.shared(laid);
        self.keep(shared)?;
        let problem = self.problem;
        let sources = problem.sources(laid, shared..problem.study.hang.cabinets.len())?;
        let adding = Adding::new(&sources, &problem.seats, &problem.lines);
        let mut least = LeastSpread::default();
        self.levels_db.clear();
        for tile in 0..adding.tiles() {
            adding.add_to(tile, &self.kept[shared], &mut self.field);
            for level_db in measures::tile_broadband_db(&self.field, &problem.lines, tile) {
                if let Some((weight, wanted_db)) = problem.seat(self.levels_db.len()) {
                    least.include(level_db - wanted_db, weight);
                }
                self.levels_db.push(level_db);
            }
            if least.exceeds(most_db, problem.weight) {
                return Ok(false);
            }
        }
        Ok(true)
    }

    fn heard(&self) -> Result<Heard> {
        let heard = self.problem.heard(&self.field, &self.levels_db);
        measures::where_all_hear(heard.evenness_db)?;
        Ok(heard)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Ceiling, Study, Valid, from_json};
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
        falling.goals.ceilings.push(Ceiling {
            name: "stage (demo data)".into(),
            place_m: [-5.0, 0.0, 1.6],
            most_db: -10.0,
        });
        given_up_rightly(&study);
        given_up_rightly(&Valid::new(falling).unwrap());
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
            for most_db in [0.4, 0.8, 1.0, 1.25].map(|share| share * heard.objective_db) {
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
