//! What stands between a hang and its listeners, for all that a search tries.
//!
//! The hang is looked at straight and at its largest splays, at both ends of the tilts and heights.
//! The box round all its fronts, a little larger, says which listeners anything can be in the way of
//! ([`Reach`]); for a hang out of the box all are looked at.

use super::candidate::Variables;
use super::company::{placement, voices};
use super::conditions::Condition;
use super::law::nearest;
use crate::acoustics::rooms::{Cast, Reach, seen_count};
use crate::acoustics::{Receivers, Room, Sources};
use crate::model::{HiddenSeats, Place, Seat, Study, between};
use crate::pose::place;

/// The box of the fronts is so much larger on all sides.
const SPARE_M: f64 = 0.5;

/// A room, and where the search hangs cabinets in it.
pub(super) struct Tried {
    pub room: Room,
    fronts_m: Vec<Place>,
    /// Fronts that hang beside.
    beside_m: Vec<Place>,
}

impl Tried {
    pub(super) fn of(study: &Study, variables: &Variables, beside_m: Vec<Place>) -> Self {
        let sites: Vec<_> = voices(study).into_iter().flatten().map(placement).collect();
        let room = Room::of(&study.venue);
        let positions = &variables.positions_deg;
        let straight = positions.iter().map(|p| nearest(p, 0.0)).collect();
        let longest = positions.iter().map(|p| p.len() - 1).collect();
        let mut fronts_m = Vec::new();
        let pins: [Vec<usize>; 2] = [straight, longest];
        for pins in pins {
            for aim in [0, variables.aim_count() - 1] {
                for top in [0, variables.tops_m.len() - 1] {
                    let candidate = variables.candidate(pins.clone(), aim, top);
                    let splays_deg = variables.splays_deg(&candidate);
                    let tilt_deg = variables.tilt_deg(&study.hang, &splays_deg, aim);
                    let pose = place(&study.hang, &splays_deg, tilt_deg, variables.tops_m[top]);
                    for site in &sites {
                        fronts_m.extend(pose.front_m.iter().map(|&front| site.point(front)));
                    }
                }
            }
        }
        Self {
            room,
            fronts_m,
            beside_m,
        }
    }

    /// The seats that count: all, or those that some cabinet sees from somewhere, so that no
    /// candidate is better for hiding a seat.
    pub(super) fn counted(&self, study: &Study) -> Vec<Seat> {
        let mut seats = study.venue.seats();
        if study.venue.hidden_seats == HiddenSeats::LeaveOut {
            let fronts_m: Vec<Place> = self
                .fronts_m
                .iter()
                .chain(&self.beside_m)
                .copied()
                .collect();
            let seen = seen_count(&self.room, &fronts_m, &seats);
            let mut seen = seen.into_iter();
            seats.retain(|_| seen.next().is_none_or(|count| count > 0));
        }
        seats
    }

    /// What can be in the way of some places.
    pub(super) fn reach(&self, places: &Receivers, conditions: &[Condition]) -> Reach {
        let lines = conditions.iter().map(|condition| &condition.lines);
        Reach::of(&self.room, self.box_m(), places, lines)
    }

    /// The middle of where cabinets hang.
    pub(super) fn middle_m(&self) -> Place {
        let [low_m, high_m] = self.box_m();
        between(low_m, high_m, 0.5)
    }

    fn box_m(&self) -> [Place; 2] {
        let reach = |pick: fn(f64, f64) -> f64, start: f64, spare: f64| {
            [0, 1, 2].map(|axis| {
                let places = self.fronts_m.iter().map(|front| front[axis]);
                places.fold(start, pick) + spare
            })
        };
        [
            reach(f64::min, f64::INFINITY, -SPARE_M),
            reach(f64::max, f64::NEG_INFINITY, SPARE_M),
        ]
    }
}

/// What is in the way of the listeners of a problem.
pub(super) struct Shadows {
    room: Room,
    reach: Reach,
}

impl Shadows {
    pub(super) fn of(room: Room, reach: Reach) -> Self {
        Self { room, reach }
    }

    pub(super) fn reach(&self) -> &Reach {
        &self.reach
    }

    /// What is in the way of `sources`.
    pub(super) fn cast(&self, sources: &Sources) -> Option<Cast<'_>> {
        self.reach.cast(&self.room, sources.fronts_m())
    }
}
