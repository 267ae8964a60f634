//! What stays the same for all candidates, and how one candidate is judged.

use super::candidate::{Aims, Candidate, Variables};
use super::constraints::{Constraint, Judge, Margin, Mechanics};
use super::detail::{Detail, mixed, thinned};
use super::moves::{self, Move};
use crate::acoustics::{
    Field, Lines, Parts, Receivers, Sources, bands, cutting, measures, spectral,
};
use crate::error::{InputError, Result};
use crate::model::{Hang, Seat, Study, Valid};
use crate::pose::{Placement, Pose, Vec2, place};
use std::collections::HashMap;
use std::ops::Range;

/// Where wanted falls of level are measured from, above the floor: the upper front hinge at the
/// middle of the heights tried.
fn origin_m(study: &Study) -> [f64; 3] {
    let [low, high] = study.top_range_m;
    [0.0, 0.0, 0.5 * (low + high)]
}

/// A candidate with its angles worked out and its bodies placed.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    pub candidate: Candidate,
    pub splays_deg: Vec<f64>,
    pub tilt_deg: f64,
    pub top_m: f64,
    pub pose: Pose,
}

/// A study made ready for evaluation.
pub(super) struct Problem<'s> {
    pub study: &'s Valid<Study>,
    pub variables: Variables,
    /// What a descent tries.
    pub moves: Vec<Vec<Move>>,
    /// Whether hearing a candidate costs less than its mechanics.
    pub sketch: bool,
    pub ears_m: Vec<Vec2>,
    /// The seats, then the places of the ceilings with no weight.
    pub seats: Receivers,
    /// Weights of the seats alone, and their sum.
    weights: Vec<f64>,
    pub weight: f64,
    /// Level of full drive over unit pressure, where the goals ask for it.
    full_drive_db: Option<f64>,
    pub lines: Lines,
    parts: Parts,
    target_db: Option<Vec<f64>>,
    hang: Valid<Hang>,
}

impl<'s> Problem<'s> {
    /// Makes a study ready, to be heard in this detail.
    pub(super) fn new(study: &'s Valid<Study>, detail: Detail) -> Result<Self> {
        let hang = Valid::new(study.hang.clone()).map_err(|error| error.within("hang"))?;
        let air = Valid::new(study.air).map_err(|error| error.within("air"))?;
        let lines = Lines::of_bands(&bands::EVENNESS, detail.lines_per_band, &air)?;
        let places = mixed(&thinned(&folded(study.venue.seats()), detail.most_seats));
        let weights: Vec<f64> = places.iter().map(|seat| seat.weight).collect();
        let quiet = study.goals.ceilings.iter().map(|ceiling| Seat {
            ear_m: ceiling.place_m,
            weight: 0.0,
            area: usize::MAX,
        });
        let places: Vec<Seat> = places.into_iter().chain(quiet).collect();
        let seats = Receivers::of_seats(&places);
        let variables = Variables::of(study);
        let mut problem = Self {
            study,
            ears_m: places
                .iter()
                .filter(|seat| seat.weight > 0.0)
                .map(|seat| Vec2::new(seat.ear_m[0], seat.ear_m[2]))
                .collect(),
            target_db: study
                .fall_db_per_doubling
                .map(|fall| measures::falling_db(&seats, origin_m(study), fall)),
            full_drive_db: full_drive_db(study)?,
            weight: weights.iter().sum(),
            weights,
            moves: moves::groups(&variables),
            sketch: detail != Detail::full(study),
            variables,
            seats,
            lines,
            parts: Parts::Each(1),
            hang,
        };
        problem.parts = problem.finest_parts(detail.tolerance)?;
        Ok(problem)
    }

    /// The sub-division that is fine enough at the ends of every range, so that all candidates
    /// are cut alike.
    fn finest_parts(&self, tolerance: f64) -> Result<Parts> {
        let straight = self.straight_pins();
        let longest = self.variables.positions_deg.iter().map(|p| p.len() - 1);
        let mut finest: Option<(f64, Parts)> = None;
        for pins in [straight, longest.collect()] {
            for aim in [0, self.variables.aim_count() - 1] {
                for top in [0, self.variables.tops_m.len() - 1] {
                    let pins = pins.clone();
                    let laid = self.lay(self.variables.candidate(pins, aim, top));
                    let parts = cutting::parts_within(
                        tolerance,
                        &self.hang,
                        &laid.pose,
                        Placement::default(),
                        &self.seats,
                        &self.lines,
                    )
                    .map_err(|error| error.within("hang"))?;
                    if let Parts::Within { nearest_m, .. } = parts
                        && finest.is_none_or(|(nearest, _)| nearest_m < nearest)
                    {
                        finest = Some((nearest_m, parts));
                    }
                }
            }
        }
        Ok(finest.map_or(Parts::Each(1), |(_, parts)| parts))
    }

    /// The pins nearest to a straight column.
    pub(super) fn straight_pins(&self) -> Vec<usize> {
        let positions = &self.variables.positions_deg;
        positions
            .iter()
            .map(|p| super::law::nearest(p, 0.0))
            .collect()
    }

    /// The pins of the hang as given.
    pub(super) fn given_pins(&self) -> Vec<usize> {
        let positions = &self.variables.positions_deg;
        let given = &self.study.hang.splays_deg;
        positions
            .iter()
            .zip(given)
            .map(|(p, &splay)| super::law::nearest(p, splay))
            .collect()
    }

    /// Works out a candidate's angles and places its bodies.
    pub(super) fn lay(&self, candidate: Candidate) -> Laid {
        let hang = &self.study.hang;
        let splays_deg = self.variables.splays_deg(&candidate);
        let tilt_deg = self.variables.tilt_deg(hang, &splays_deg, candidate.aim);
        let top_m = self.variables.tops_m[candidate.top];
        Laid {
            pose: place(hang, &splays_deg, tilt_deg, top_m),
            candidate,
            splays_deg,
            tilt_deg,
            top_m,
        }
    }

    /// The sub-elements of some cabinets of a candidate.
    pub(super) fn sources(&self, laid: &Laid, cabinets: Range<usize>) -> Result<Sources> {
        let place = Placement::default();
        let sources = |range: Range<usize>| {
            Sources::of_cabinets(&self.hang, &laid.pose, place, range, self.parts)
        };
        if laid.candidate.gains.is_empty() {
            return sources(cabinets);
        }
        let mut all = Sources::default();
        for cabinet in cabinets {
            let gain_db = self.variables.gain_db(&laid.candidate, cabinet);
            all.append(sources(cabinet..cabinet + 1)?.with_gain_db(gain_db));
        }
        Ok(all)
    }

    /// Weight of a place that is a seat, and what is to be taken off the level there.
    pub(super) fn seat(&self, place: usize) -> Option<(f64, f64)> {
        let wanted_db = self.target_db.as_ref().map_or(0.0, |target| target[place]);
        self.weights.get(place).map(|&weight| (weight, wanted_db))
    }

    /// What is measured of `field`, in which seats and places hear these levels.
    pub(super) fn heard(&self, field: &Field, levels_db: &[f64]) -> Heard {
        let goals = &self.study.goals;
        let target_db = self.target_db.as_deref();
        let (seats_db, quiet_db) = levels_db.split_at(self.weights.len());
        let evenness_db = match target_db {
            None => measures::spread_db(seats_db, &self.weights),
            Some(target_db) => {
                let relative: Vec<f64> =
                    seats_db.iter().zip(target_db).map(|(l, t)| l - t).collect();
                measures::spread_db(&relative, &self.weights)
            }
        };
        let spectral_db = if goals.spectral_weight > 0.0 {
            spectral::spectral_spread_db(field, &self.seats, &self.lines)
        } else {
            0.0
        };
        let weighted = seats_db
            .iter()
            .zip(&self.weights)
            .filter(|(_, w)| **w > 0.0);
        let mean_db = weighted.clone().map(|(l, w)| l * w).sum::<f64>() / self.weight;

        let mut margins = Vec::new();
        if let Some(least_db) = goals.least_mean_db {
            margins.push(Margin::at_least(Constraint::MeanLevel, mean_db, least_db));
        }
        if let (Some(least_db), Some(full_db)) = (goals.least_reach_db, self.full_drive_db) {
            let quietest_db = weighted.map(|(l, _)| *l).fold(f64::INFINITY, f64::min);
            let reach_db = full_db + quietest_db;
            margins.push(Margin::at_least(Constraint::Reach, reach_db, least_db));
        }
        for (index, (ceiling, level_db)) in goals.ceilings.iter().zip(quiet_db).enumerate() {
            let over_db = level_db - mean_db;
            margins.push(Margin::at_most(
                Constraint::Ceiling(index),
                over_db,
                ceiling.most_db,
            ));
        }
        Heard {
            objective_db: evenness_db + goals.spectral_weight * spectral_db,
            evenness_db,
            mean_db,
            margins,
        }
    }

    pub(super) fn pick_x_m(&self, laid: &Laid) -> Vec<f64> {
        self.variables.pick_x_m(self.study, laid.candidate.aim)
    }

    pub(super) fn mechanics(&self, laid: &Laid) -> Result<Mechanics> {
        Judge {
            study: self.study,
            laid,
            pick_x_m: &self.pick_x_m(laid),
            tilt_is_free: matches!(self.variables.aims, Aims::Hole(_)),
        }
        .judge()
    }

    /// Index of the aim whose tilt, at these pins, comes nearest to a wanted one.
    pub(super) fn aim_near(&self, pins: &[usize], top: usize, tilt_deg: f64) -> usize {
        let miss = |aim: usize| {
            let pins = pins.to_vec();
            let candidate = self.variables.candidate(pins, aim, top);
            (self.lay(candidate).tilt_deg - tilt_deg).abs()
        };
        (0..self.variables.aim_count())
            .min_by(|&a, &b| miss(a).total_cmp(&miss(b)))
            .unwrap_or(0)
    }
}

/// The level that all cabinets reach on their axes at 1 m, where a reach is asked for.
fn full_drive_db(study: &Study) -> Result<Option<f64>> {
    if study.goals.least_reach_db.is_none() {
        return Ok(None);
    }
    let mut least_db = f64::INFINITY;
    for (index, cabinet) in study.hang.cabinets.iter().enumerate() {
        let stated_db = cabinet.source.as_ref().and_then(|s| s.max_level_db);
        least_db = least_db.min(stated_db.ok_or_else(|| {
            InputError::new(
                &format!("hang.cabinets[{index}].source.max_level_db"),
                "not stated",
                "a level; goals.least_reach_db needs it",
            )
        })?);
    }
    Ok(Some(least_db))
}

/// What the seats hear of one candidate.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Heard {
    /// Evenness, and spectral spread where it counts.
    pub objective_db: f64,
    pub evenness_db: f64,
    /// Weighted mean of the seats' levels over unit pressure.
    pub mean_db: f64,
    /// Bounds on levels, with their margins.
    pub margins: Vec<Margin>,
}

/// One of each pair of seats that mirror each other in the hang's plane, with the weight of both:
/// they hear the same.
fn folded(seats: Vec<Seat>) -> Vec<Seat> {
    let mut folded: Vec<Seat> = Vec::with_capacity(seats.len());
    let mut seen = HashMap::new();
    for seat in seats {
        let [x, y, z] = seat.ear_m;
        let key = [x.to_bits(), y.abs().to_bits(), z.to_bits()];
        let at = *seen.entry(key).or_insert(folded.len());
        match folded.get_mut(at) {
            Some(mirror) => mirror.weight += seat.weight,
            None => folded.push(seat),
        }
    }
    folded
}
