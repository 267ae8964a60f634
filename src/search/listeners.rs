//! For whom is a candidate heard? Places off the seats and places that shall stay quiet first,
//! since they have few and are soon known; then the seats, thinned for a sketch.

use super::company::{is_symmetric, placement};
use super::conditions::Condition;
use super::constraints::{Constraint, Margin};
use super::detail::{mixed, thinned};
use super::shadows::Tried;
use crate::acoustics::field::TILE;
use crate::acoustics::rooms::Reach;
use crate::acoustics::{Receivers, measures};
use crate::error::{InputError, Result};
use crate::model::{OffSeats, OffSeatsKind, Seat, Study};
use crate::pose::Vec2;
use std::collections::HashMap;

/// Everybody who hears, with what the goals want of them.
pub(super) struct Listeners {
    /// Places off the seats, places to stay quiet, seats; only seats have a weight.
    pub places: Receivers,
    /// Number of places off the seats, and of those to stay quiet.
    pub off_seats: usize,
    pub quiet_places: usize,
    /// Weight of all seats.
    pub weight: f64,
    /// What is to be taken off the level of each seat; mean 0 over the seats.
    wanted_db: Option<Vec<f64>>,
    /// Level of full drive over unit pressure, where the goals ask for it.
    full_drive_db: Option<f64>,
}

impl Listeners {
    /// Of a study, with so many seats at the most; and what can be in their way, taken from what was
    /// found for more listeners where these are known.
    pub(super) fn new(
        study: &Study,
        tried: &Tried,
        conditions: &[Condition],
        most_seats: usize,
        more: Option<(&Self, &Reach)>,
    ) -> Result<(Self, Reach)> {
        let mut seats = counted(study, tried)?;
        if tried.room.blocking().is_symmetric() && is_symmetric(study) {
            seats = folded(seats);
        }
        let seats = thinned(&seats, most_seats);
        let goals = &study.goals;
        let priced = goals.off_seats_price > 0.0 || goals.most_off_seats_db.is_some();
        let off_seats = if priced { off_seats(study) } else { Vec::new() };
        let quiet = off_seats.iter().map(|place| place.place_m);
        let quiet_places = goals.quiet_places.iter().map(|place| place.place_m);
        let places: Vec<Seat> = quiet
            .chain(quiet_places)
            .map(|ear_m| Seat {
                ear_m,
                weight: 0.0,
                area: usize::MAX,
                corner: 0.0,
            })
            .chain(seats)
            .collect();
        let before = off_seats.len() + goals.quiet_places.len();
        let known = more.and_then(|(listeners, reach)| {
            Some(reach.of_some(&found_in(&listeners.places, &places)?))
        });
        let reach = known.unwrap_or_else(|| tried.reach(&Receivers::of_seats(&places), conditions));
        let touched: Vec<bool> = (0..places.len())
            .map(|place| reach.touches(place))
            .collect();
        let order = apart(&touched, before);
        let places: Vec<Seat> = order.iter().map(|&place| places[place]).collect();
        let seats = &places[before..];
        let listeners = Self {
            places: Receivers::of_seats(&places),
            off_seats: off_seats.len(),
            quiet_places: goals.quiet_places.len(),
            weight: seats.iter().map(|seat| seat.weight).sum(),
            wanted_db: wanted_db(study, seats),
            full_drive_db: full_drive_db(study)?,
        };
        Ok((listeners, reach.of_some(&order)))
    }

    /// Number of places that are no seats.
    pub(super) fn quiet(&self) -> usize {
        self.off_seats + self.quiet_places
    }

    /// Weight of a place, 0 where it is no seat, and what is to be taken off the level there.
    pub(super) fn wish(&self, place: usize) -> (f64, f64) {
        let wanted = self.wanted_db.as_ref().zip(place.checked_sub(self.quiet()));
        let wanted_db = wanted.map_or(0.0, |(wanted_db, seat)| wanted_db[seat]);
        (self.places.weight()[place], wanted_db)
    }

    /// The ears of the seats that the hang is for, in its plane.
    pub(super) fn ears_m(&self, study: &Study) -> Vec<Vec2> {
        let place = placement(&study.site);
        let seats = self.places.points_m().zip(self.places.weight());
        let heard = seats
            .filter(|(_, weight)| **weight > 0.0)
            .map(|seat| seat.0);
        let all: Vec<Vec2> = heard.map(|ear_m| place.in_plane(ear_m)).collect();
        if study.site.is_default() && study.serves.is_empty() {
            return all;
        }
        let areas = &study.venue.areas;
        let served = |area: usize| {
            let name = areas.get(area).map(|area| &area.name);
            study.serves.is_empty() || name.is_some_and(|name| study.serves.contains(name))
        };
        let own = study.venue.seats().into_iter();
        let own = own.filter(|seat| seat.weight > 0.0 && served(seat.area));
        let ahead: Vec<Vec2> = own
            .map(|seat| place.in_plane(seat.ear_m))
            .filter(|ear| ear.x > NEAREST_AHEAD_M)
            .collect();
        if ahead.is_empty() { all } else { ahead }
    }

    /// What the quietest seat reaches at full drive against what it shall; `quietest_db` is its
    /// level over unit pressure.
    pub(super) fn reach(&self, study: &Study, quietest_db: impl Fn() -> f64) -> Option<Margin> {
        let (least_db, full_db) = study.goals.least_reach_db.zip(self.full_drive_db)?;
        let reach_db = full_db + quietest_db();
        Some(Margin::at_least(Constraint::Reach, reach_db, least_db))
    }
}

/// Which of the receivers each place is; none where one of them is not among them.
fn found_in(receivers: &Receivers, places: &[Seat]) -> Option<Vec<usize>> {
    let numbers: HashMap<[u64; 3], usize> = receivers
        .points_m()
        .map(|point_m| point_m.map(f64::to_bits))
        .zip(0..)
        .collect();
    let places = places.iter().map(|place| place.ear_m.map(f64::to_bits));
    places.map(|place| numbers.get(&place).copied()).collect()
}

/// Seats nearer than this before a hang off the middle lie under it: no curve begins there.
const NEAREST_AHEAD_M: f64 = 0.5;

/// The places in the order in which they are heard: the first `before` as they stand, the seats mixed,
/// those in whose way something can be in tiles of their own among the others: only such a tile costs
/// more.
fn apart(touched: &[bool], before: usize) -> Vec<usize> {
    let some = |wanted: bool| {
        let seats = (before..touched.len()).filter(|&seat| touched[seat] == wanted);
        mixed(&seats.collect::<Vec<usize>>())
    };
    let (mut clear, mut dim) = (some(false), some(true));
    let seats = touched.len() - before;
    let share = dim.len() as f64 / seats.max(1) as f64;
    let mut ordered: Vec<usize> = (0..before).collect();
    while ordered.len() < touched.len() {
        let lanes = TILE - ordered.len() % TILE;
        // Whichever is behind its share of the tiles.
        let dim_next = dim.len() as f64 >= share * (touched.len() - ordered.len()) as f64;
        let from = if clear.is_empty() || (dim_next && !dim.is_empty()) {
            &mut dim
        } else {
            &mut clear
        };
        ordered.extend(from.drain(..lanes.min(from.len())));
    }
    ordered
}

/// The seats that count.
pub(super) fn counted(study: &Study, tried: &Tried) -> Result<Vec<Seat>> {
    let seats = tried.counted(study);
    if seats.iter().any(|seat| seat.weight > 0.0) {
        return Ok(seats);
    }
    Err(InputError::new(
        "venue.hidden_seats",
        "leave out",
        "keep, as no cabinet sees any seat from anywhere",
    ))
}

/// Places off the seats: those that follow from the venue, and those that the goals name.
pub(super) fn off_seats(study: &Study) -> Vec<OffSeats> {
    let named = study.goals.off_seats_m.iter().enumerate();
    let named = named.map(|(index, &place_m)| OffSeats {
        kind: OffSeatsKind::Named(index),
        place_m,
    });
    study.venue.off_seats().into_iter().chain(named).collect()
}

/// What is wanted at each seat, mean 0; none where the same is wanted everywhere.
#[must_use]
pub fn wanted_db(study: &Study, seats: &[Seat]) -> Option<Vec<f64>> {
    if study.fall_db_per_doubling.is_none() && study.goals.wanted.is_empty() {
        return None;
    }
    let mut wanted_db = match study.fall_db_per_doubling {
        Some(fall_db) => {
            // Falls are measured from the upper front hinge at the middle of the heights tried.
            let [low_m, high_m] = study.top_range_m;
            let [x_m, y_m] = study.site.position_m;
            let origin_m = [x_m, y_m, 0.5 * (low_m + high_m)];
            measures::falling_db(&Receivers::of_seats(seats), origin_m, fall_db)
        }
        None => vec![0.0; seats.len()],
    };
    for wanted in &study.goals.wanted {
        for (seat, seat_db) in seats.iter().zip(&mut wanted_db) {
            let area = study.venue.areas.get(seat.area);
            if area.is_some_and(|area| area.name == wanted.area) {
                *seat_db += at_corner(&wanted.level_db, seat.corner);
            }
        }
    }
    let total: f64 = seats.iter().map(|seat| seat.weight).sum();
    let weighted = seats
        .iter()
        .zip(&wanted_db)
        .map(|(seat, db)| seat.weight * db);
    let mean_db = weighted.sum::<f64>() / total;
    Some(wanted_db.into_iter().map(|db| db - mean_db).collect())
}

/// Between the levels at the corners of a floor line, or the one level of the whole block.
fn at_corner(level_db: &[f64], corner: f64) -> f64 {
    let before = (corner.floor() as usize).min(level_db.len() - 1);
    let after = (before + 1).min(level_db.len() - 1);
    level_db[before] + (corner - before as f64) * (level_db[after] - level_db[before])
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seats_in_whose_way_something_can_be_have_tiles_of_their_own() {
        let dim = |seat: &usize| *seat >= 73;
        let touched: Vec<bool> = (0..103).map(|seat| dim(&seat)).collect();
        let mut ordered = apart(&touched, 3);
        assert_eq!(ordered[..3], [0, 1, 2]);
        let mixed = ordered
            .chunks(TILE)
            .filter(|tile| tile.iter().any(dim) && !tile.iter().all(dim));
        assert!(mixed.count() <= 2);
        assert!(ordered[3..53].iter().filter(|seat| dim(seat)).count() > 10);
        ordered.sort_unstable();
        assert!(ordered.into_iter().eq(0..103));
        let seats: Vec<usize> = (0..100).collect();
        assert_eq!(apart(&[false; 100], 0), super::mixed(&seats));
    }

    #[test]
    fn a_curve_along_a_block_is_straight_between_its_corners() {
        assert_eq!(at_corner(&[-3.0], 1.7), -3.0);
        assert_eq!(at_corner(&[0.0, -2.0, -6.0], 0.25), -0.5);
        assert_eq!(at_corner(&[0.0, -2.0, -6.0], 1.5), -4.0);
        assert_eq!(at_corner(&[0.0, -2.0, -6.0], 2.0), -6.0);
    }
}
