//! Where does each cabinet's axis end, and how far away?
//!
//! The axis is followed from the middle of the front face to the first of: the ears of the seats,
//! that is the floor under them raised by the height of the ears, and whatever blocks sound
//! ([`Blocking`]). What lies behind is not met.

use super::{Placement, Pose, Vec2};
use crate::model::{Blocking, Venue, between};

/// No axis is followed farther.
const FARTHEST_M: f64 = 2e3;

/// What an axis meets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Met {
    /// The ears of the seats of the area of this index.
    Seats(usize),
    /// The floor or surface of this index in [`Blocking::blockers`].
    Blocker(usize),
}

/// The end of a cabinet's axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Throw {
    /// Where, in room axes.
    pub point_m: [f64; 3],
    /// Distance from the middle of the front face.
    pub length_m: f64,
    /// On what.
    pub met: Met,
}

/// One entry per cabinet, top to bottom; `None` where its axis meets nothing.
#[must_use]
pub fn throws(pose: &Pose, placement: Placement, venue: &Venue) -> Vec<Option<Throw>> {
    let blocking = venue.blocking();
    let ears = venue.ears();
    let axes = pose.front_m.iter().zip(&pose.axis_rad);
    axes.map(|(&front_m, &axis_rad)| {
        let along = Vec2::new(axis_rad.cos(), axis_rad.sin());
        let from_m = placement.point(front_m);
        let to_m = placement.point(front_m + FARTHEST_M * along);
        let blocked = blocking.first(from_m, to_m);
        let heard = ears.first(from_m, to_m);
        let [blocked, heard] = [(blocked, true), (heard, false)].map(|(meeting, blocks)| {
            meeting.map(|at| {
                let met = if blocks {
                    Met::Blocker(at.blocker)
                } else {
                    Met::Seats(at.blocker)
                };
                (at.share, met)
            })
        });
        let (share, met) = match (blocked, heard) {
            (Some(wall), Some(seats)) if wall.0 < seats.0 => wall,
            (wall, seats) => seats.or(wall)?,
        };
        Some(Throw {
            point_m: between(from_m, to_m, share),
            length_m: share * FARTHEST_M,
            met,
        })
    })
    .collect()
}

/// Of each cabinet, whether nothing is in the way from the middle of its front face to a point.
pub fn seen_from<'a>(
    pose: &'a Pose,
    placement: Placement,
    blocking: &'a Blocking,
    point_m: [f64; 3],
) -> impl Iterator<Item = bool> + 'a {
    let fronts = pose.front_m.iter();
    fronts.map(move |&front_m| blocking.sees(placement.point(front_m), point_m))
}
