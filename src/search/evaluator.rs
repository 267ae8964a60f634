//! What the seats hear of one candidate after another, at the least cost.
//!
//! A change of pin j turns only the cabinets below joint j, so the fields of the upper ones are
//! kept. And the seats known so far bound the objective from below
//! ([`Running::least`](crate::acoustics::unevenness::Running::least)), so a candidate is given up as
//! soon as that bound is too much; nothing is lost by it.

use super::conditions::Condition;
use super::constraints::{Constraint, Margin};
use super::laid::Laid;
use super::problem::Problem;
use crate::acoustics::field::{TILE, energies};
use crate::acoustics::unevenness::Running;
use crate::acoustics::{Adding, Field, measures, spectral};
use crate::error::Result;
use crate::model::{Measure, Over};

/// What the seats hear of one candidate.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Heard {
    /// What the search makes least.
    pub objective_db: f64,
    /// Spread of the levels over the seats, as the goals measure it.
    pub spread_db: f64,
    /// Weighted mean of the seats' levels over unit pressure.
    pub mean_db: f64,
    /// Bounds on levels, with their margins.
    pub margins: Vec<Margin>,
}

/// Evaluates candidates, keeping the fields of the upper cabinets of a base candidate.
pub(super) struct Evaluator<'p, 's> {
    problem: &'p Problem<'s>,
    base: Option<Laid>,
    /// One a condition.
    hearings: Vec<Hearing>,
    pub evaluations: u64,
}

/// Fields and levels under one condition.
struct Hearing {
    /// How many of the voices' kept fields are known.
    valid: usize,
    /// Fields whose pressures do not add.
    voices: Vec<Voice>,
    /// Of the last candidate: the sums over its seats, and the levels of places that are no seats,
    /// band by band.
    running: Running,
    quiet_db: Vec<Vec<f64>>,
    tile_db: Vec<[f64; TILE]>,
    ear_db: Vec<f64>,
}

/// One field: where the hang's sum begins, that of the first k cabinets of the base, for each k below
/// `valid`, and that of the last candidate.
struct Voice {
    kept: Vec<Field>,
    field: Field,
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
        self.add_up(laid, f64::INFINITY)?;
        self.heard(laid)
    }

    /// What the seats hear of `laid`; none as soon as its objective is known to exceed `most_db`.
    pub(super) fn hear_within(&mut self, laid: &Laid, most_db: f64) -> Result<Option<Heard>> {
        let whole = self.add_up(laid, most_db)?;
        whole.then(|| self.heard(laid)).transpose()
    }

    /// Works out the fields of `laid` and their levels; false where it stopped early because the
    /// objective must exceed `most_db`.
    fn add_up(&mut self, laid: &Laid, most_db: f64) -> Result<bool> {
        self.evaluations += 1;
        let shared = self.shared(laid);
        let problem = self.problem;
        let count = self.hearings.len();
        let mut sum_db = 0.0;
        let hearings = self.hearings.iter_mut().zip(&problem.conditions);
        for (index, (hearing, condition)) in hearings.enumerate() {
            // Of a mean over several, only the last one's share is known to be too much.
            let most_db = match problem.study.goals.over {
                Over::Worst => most_db,
                Over::Mean if index + 1 == count => most_db * count as f64 - sum_db,
                Over::Mean => f64::INFINITY,
            };
            let condition = &Under { index, condition };
            if let Some(base) = &self.base {
                hearing.keep(problem, condition, base, shared)?;
            }
            if !hearing.add_up(problem, condition, laid, shared, most_db)? {
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

impl Heard {
    fn with_worst_margins(mut self, other: Self) -> Self {
        for (margin, other) in self.margins.iter_mut().zip(other.margins) {
            if other.margin < margin.margin {
                *margin = other;
            }
        }
        self
    }
}

/// A condition with its number.
struct Under<'a> {
    index: usize,
    condition: &'a Condition,
}

impl Hearing {
    fn new(problem: &Problem<'_>, index: usize, condition: &Condition, cabinets: usize) -> Self {
        let silent = Field::silent(&problem.listeners.places, &condition.lines);
        let voices = problem.beside[index].start.iter().map(|start| {
            let mut kept = vec![silent.clone(); cabinets + 1];
            kept[0] = start.clone();
            Voice {
                kept,
                field: silent.clone(),
            }
        });
        let band_weight = match problem.study.goals.measure {
            Measure::PerBand => problem.study.goals.band_weights(),
            Measure::Broadband => vec![1.0],
        };
        Self {
            voices: voices.collect(),
            valid: 1,
            ear_db: vec![0.0; band_weight.len()],
            running: Running::new(&band_weight),
            quiet_db: Vec::new(),
            tile_db: Vec::new(),
        }
    }

    /// Works out the kept fields up to that of the first `cabinets` of the base.
    fn keep(
        &mut self,
        problem: &Problem<'_>,
        under: &Under<'_>,
        base: &Laid,
        cabinets: usize,
    ) -> Result<()> {
        if self.valid > cabinets {
            return Ok(());
        }
        let pose = problem.pose(base, under.condition);
        for cabinet in self.valid - 1..cabinets {
            let one = cabinet..cabinet + 1;
            for (number, voice) in self.voices.iter_mut().enumerate() {
                let sources = problem.shaded(&base.candidate, &pose, one.clone(), number)?;
                let adding = problem.adding(&sources, under.index);
                let (above, below) = voice.kept.split_at_mut(cabinet + 1);
                for tile in 0..adding.tiles() {
                    adding.add_to(tile, &above[cabinet], &mut below[0]);
                }
            }
            self.valid = cabinet + 2;
        }
        Ok(())
    }

    /// Works out the field of `laid` and its levels; false where it stopped early because the
    /// objective must exceed `most_db`.
    fn add_up(
        &mut self,
        problem: &Problem<'_>,
        under: &Under<'_>,
        laid: &Laid,
        shared: usize,
        most_db: f64,
    ) -> Result<bool> {
        const ROUNDING_DB: f64 = 1e-9;
        let listeners = &problem.listeners;
        let goals = &problem.study.goals;
        let pose = problem.pose(laid, under.condition);
        let cabinets = shared..problem.study.hang.cabinets.len();
        let sources = (0..self.voices.len())
            .map(|voice| problem.shaded(&laid.candidate, &pose, cabinets.clone(), voice))
            .collect::<Result<Vec<_>>>()?;
        let adding: Vec<Adding<'_>> = sources
            .iter()
            .map(|sources| problem.adding(sources, under.index))
            .collect();
        self.running.clear();
        self.quiet_db.clear();
        let mut known_db = goals.roughness_price * problem.roughness_deg(laid);
        for tile in 0..adding[0].tiles() {
            for (voice, adding) in self.voices.iter_mut().zip(&adding) {
                adding.add_to(tile, &voice.kept[shared], &mut voice.field);
            }
            self.lay_levels(problem, under, tile);
            for (lane, place) in self.voices[0].field.receivers_of(tile).enumerate() {
                let (weight, wanted_db) = listeners.wish(place);
                for (ear_db, band_db) in self.ear_db.iter_mut().zip(&self.tile_db) {
                    *ear_db = band_db[lane] - wanted_db;
                }
                if place < listeners.quiet() {
                    self.quiet_db.push(self.ear_db.clone());
                    if place + 1 == listeners.off_seats {
                        known_db += goals.off_seats_price * self.off_seats_db(listeners.off_seats);
                    }
                } else {
                    self.running.include(&self.ear_db, weight);
                }
            }
            let price = goals.level_price + goals.off_seats_price;
            let least_db = known_db + self.running.least(price, listeners.weight);
            if self.quiet_db.len() >= listeners.off_seats && least_db > most_db + ROUNDING_DB {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// The levels at one tile's receivers: of each band, or summed over them.
    fn lay_levels(&mut self, problem: &Problem<'_>, under: &Under<'_>, tile: usize) {
        let lines = &under.condition.lines;
        let others = problem.beside[under.index].others.as_ref();
        if self.voices.len() > 1 || others.is_some() {
            let fields = self.voices.iter().map(|voice| &voice.field);
            energies::tile_levels(fields, others, lines, tile, &mut self.tile_db);
            if problem.study.goals.measure == Measure::Broadband {
                energies::to_broadband(&mut self.tile_db);
            }
            return;
        }
        let field = &self.voices[0].field;
        match problem.study.goals.measure {
            Measure::PerBand => field.tile_levels(lines, tile, &mut self.tile_db),
            Measure::Broadband => {
                let levels = measures::tile_broadband_db(field, lines, tile);
                let mut row = [0.0; TILE];
                for (to, level_db) in row.iter_mut().zip(levels) {
                    *to = level_db;
                }
                self.tile_db.clear();
                self.tile_db.push(row);
            }
        }
    }

    /// Mean over the bands of the energy mean over the first `count` places.
    fn off_seats_db(&self, count: usize) -> f64 {
        let places = &self.quiet_db[..count];
        self.running.over_bands(|band| {
            let energies = places.iter().map(|place| 10f64.powf(place[band] / 10.0));
            10.0 * (energies.sum::<f64>() / count as f64).log10()
        })
    }

    /// Levels of all bands, where the pressures of several voices do not add.
    fn mixed_levels(&self, problem: &Problem<'_>, under: &Under<'_>) -> Option<Vec<Vec<f64>>> {
        let others = problem.beside[under.index].others.as_ref();
        let mixed = self.voices.len() > 1 || others.is_some();
        let fields = || self.voices.iter().map(|voice| &voice.field);
        mixed.then(|| energies::all_levels(fields, others, &under.condition.lines))
    }

    fn objective_db(&self, problem: &Problem<'_>, under: &Under<'_>, laid: &Laid) -> f64 {
        let goals = &problem.study.goals;
        let mean_db = self.running.mean_over_bands_db();
        let mut objective_db = self.running.spread_db() - goals.level_price * mean_db
            + goals.roughness_price * problem.roughness_deg(laid);
        if goals.off_seats_price > 0.0 {
            let off_db = self.off_seats_db(problem.listeners.off_seats) - mean_db;
            objective_db += goals.off_seats_price * off_db;
        }
        if goals.spectral_weight > 0.0 {
            let places = &problem.listeners.places;
            let spectral_db = match self.mixed_levels(problem, under) {
                Some(band_db) => spectral::spread_db(&band_db, places.weight()),
                None => {
                    let lines = &under.condition.lines;
                    spectral::spectral_spread_db(&self.voices[0].field, places, lines)
                }
            };
            objective_db += goals.spectral_weight * spectral_db;
        }
        objective_db
    }

    fn heard(&self, problem: &Problem<'_>, under: &Under<'_>, laid: &Laid) -> Heard {
        let goals = &problem.study.goals;
        let listeners = &problem.listeners;
        let mean_db = self.running.mean_over_bands_db();
        let mut margins = Vec::new();
        if let Some(least_db) = goals.least_mean_db {
            margins.push(Margin::at_least(Constraint::MeanLevel, mean_db, least_db));
        }
        if let Some(most_db) = goals.most_off_seats_db {
            let off_db = self.off_seats_db(listeners.off_seats) - mean_db;
            margins.push(Margin::at_most(Constraint::OffSeats, off_db, most_db));
        }
        margins.extend(listeners.reach(problem.study, || {
            let levels_db = match self.mixed_levels(problem, under) {
                Some(band_db) => energies::broadband(&band_db),
                None => measures::broadband_db(&self.voices[0].field, &under.condition.lines),
            };
            levels_db[listeners.quiet()..]
                .iter()
                .copied()
                .fold(f64::INFINITY, f64::min)
        }));
        let quiet_places = goals.quiet_places.iter().enumerate();
        for ((index, quiet_place), place) in quiet_places.zip(&self.quiet_db[listeners.off_seats..])
        {
            let over_db = self.running.over_bands(|band| place[band]) - mean_db;
            let constraint = Constraint::QuietPlace(index);
            margins.push(Margin::at_most(constraint, over_db, quiet_place.most_db));
        }
        Heard {
            objective_db: self.objective_db(problem, under, laid),
            spread_db: self.running.spread_db(),
            mean_db,
            margins,
        }
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
