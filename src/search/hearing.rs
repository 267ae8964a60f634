//! What the seats hear of one candidate after another under one condition.

use super::conditions::Condition;
use super::constraints::{Constraint, Margin};
use super::laid::Laid;
use super::likely::Trail;
use super::problem::Problem;
use crate::acoustics::field::{TILE, energies};
use crate::acoustics::unevenness::Running;
use crate::acoustics::{Adding, Field, measures, spectral};
use crate::error::Result;
use crate::model::Measure;

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

impl Heard {
    pub(super) fn with_worst_margins(mut self, other: Self) -> Self {
        for (margin, other) in self.margins.iter_mut().zip(other.margins) {
            if other.margin < margin.margin {
                *margin = other;
            }
        }
        self
    }
}

/// What an objective is not to exceed.
#[derive(Clone, Copy)]
pub(super) enum Most {
    /// Given up only where it is known to.
    Surely(f64),
    /// Given up where it is likely to.
    Likely(f64),
}

impl Most {
    pub(super) fn map(self, change: impl Fn(f64) -> f64) -> Self {
        match self {
            Self::Surely(most_db) => Self::Surely(change(most_db)),
            Self::Likely(most_db) => Self::Likely(change(most_db)),
        }
    }
}

/// A condition with its number.
pub(super) struct Under<'a> {
    pub index: usize,
    pub condition: &'a Condition,
}

/// Fields and levels under one condition.
pub(super) struct Hearing {
    /// How many of the voices' kept fields are known.
    pub valid: usize,
    /// Fields whose pressures do not add.
    voices: Vec<Voice>,
    /// Of the last candidate: the sums over its seats, and the levels of places that are no seats,
    /// band by band.
    running: Running,
    quiet_db: Vec<Vec<f64>>,
    tile_db: Vec<[f64; TILE]>,
    ear_db: Vec<f64>,
    /// Of the last candidate and of the one that was marked.
    trail: Trail,
    marked: Trail,
}

/// One field: where the hang's sum begins, that of the first k cabinets of the base, for each k below
/// `valid`, and that of the last candidate.
struct Voice {
    kept: Vec<Field>,
    field: Field,
}

impl Hearing {
    pub(super) fn new(
        problem: &Problem<'_>,
        index: usize,
        condition: &Condition,
        cabinets: usize,
    ) -> Self {
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
            trail: Trail::default(),
            marked: Trail::default(),
        }
    }

    /// Works out the kept fields up to that of the first `cabinets` of the base.
    pub(super) fn keep(
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
                let sources = problem.sources(&base.candidate, &pose, one.clone(), number)?;
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

    /// Lets candidates to come be told likely or not by the last one.
    pub(super) fn mark(&mut self) {
        self.marked.clone_from(&self.trail);
    }

    /// Works out the field of `laid` and its levels; false where it stopped early because the
    /// objective exceeds `most`.
    pub(super) fn add_up(
        &mut self,
        problem: &Problem<'_>,
        under: &Under<'_>,
        laid: &Laid,
        shared: usize,
        most: Most,
    ) -> Result<bool> {
        const ROUNDING_DB: f64 = 1e-9;
        let listeners = &problem.listeners;
        let goals = &problem.study.goals;
        let pose = problem.pose(laid, under.condition);
        let cabinets = shared..problem.study.hang.cabinets.len();
        let sources = (0..self.voices.len())
            .map(|voice| problem.sources(&laid.candidate, &pose, cabinets.clone(), voice))
            .collect::<Result<Vec<_>>>()?;
        let adding: Vec<Adding<'_>> = sources
            .iter()
            .map(|sources| problem.adding(sources, under.index))
            .collect();
        self.running.clear();
        self.quiet_db.clear();
        self.trail.clear();
        let (Most::Surely(most_db) | Most::Likely(most_db)) = most;
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
            let spread_db = self.running.spread_db();
            let here_db = known_db + spread_db - price * self.running.mean_over_bands_db();
            self.trail.push(here_db, spread_db);
            if self.quiet_db.len() < listeners.off_seats {
                continue;
            }
            let least_db = known_db + self.running.least(price, listeners.weight);
            let likely_db = match most {
                Most::Surely(_) => f64::NEG_INFINITY,
                Most::Likely(_) => self.marked.likely_least_db(&self.trail),
            };
            if least_db.max(likely_db) > most_db + ROUNDING_DB {
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

    pub(super) fn objective_db(
        &self,
        problem: &Problem<'_>,
        under: &Under<'_>,
        laid: &Laid,
    ) -> f64 {
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

    pub(super) fn heard(&self, problem: &Problem<'_>, under: &Under<'_>, laid: &Laid) -> Heard {
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
