//! Where does each cabinet's axis meet the seats, and how far away?
//!
//! The axis from the middle of the front face, f + t (cos φ, sin φ) with t > 0, against each
//! straight piece a + u (b − a), 0 ≤ u ≤ 1, of the areas' ear lines: with d × e the plane cross
//! product, t = (a − f) × (b − a) / (d × (b − a)) and u = (a − f) × d / (d × (b − a)). The least t
//! counts. Nothing but the seats stops an axis.

use super::{Pose, Vec2};
use crate::model::Venue;

/// The meeting of a cabinet's axis with the seats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Throw {
    /// Where the axis meets the ear line, in room axes.
    pub point_m: Vec2,
    /// Distance from the middle of the front face.
    pub length_m: f64,
    /// Index of the seat area that is met.
    pub area: usize,
}

/// One entry a cabinet, top to bottom; `None` where its axis meets no seats.
#[must_use]
pub fn throws(pose: &Pose, venue: &Venue) -> Vec<Option<Throw>> {
    pose.front_m
        .iter()
        .zip(&pose.axis_rad)
        .map(|(&front_m, &axis_rad)| nearest(front_m, axis_rad, venue))
        .collect()
}

fn nearest(front_m: Vec2, axis_rad: f64, venue: &Venue) -> Option<Throw> {
    let along = Vec2::new(axis_rad.cos(), axis_rad.sin());
    let mut found: Option<Throw> = None;
    for (area, seats) in venue.areas.iter().enumerate() {
        let ears = |corner: [f64; 2]| Vec2::new(corner[0], corner[1] + seats.ear_height_m);
        for ends in seats.profile_m.windows(2) {
            let (from, to) = (ears(ends[0]), ears(ends[1]));
            let across = along.perp(&(to - from));
            if across == 0.0 {
                continue;
            }
            let length_m = (from - front_m).perp(&(to - from)) / across;
            let place = (from - front_m).perp(&along) / across;
            let nearer = found.is_none_or(|other| length_m < other.length_m);
            if length_m > 0.0 && (0.0..=1.0).contains(&place) && nearer {
                found = Some(Throw {
                    point_m: front_m + length_m * along,
                    length_m,
                    area,
                });
            }
        }
    }
    found
}
