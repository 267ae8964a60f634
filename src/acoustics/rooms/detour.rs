//! How much longer the way round the edges is.
//!
//! Over a straight edge the shortest way from s to r bends where the two legs, unfolded about the
//! edge into one plane, make a straight line: with a and b the distances of s and r from the edge
//! and z their places along it, at z = (z_s b + z_r a)/(a + b), or at the edge's end beyond which
//! that lies. δ = |s − q| + |q − r| − |s − r|.

use crate::model::{Blocking, Body, Edge, Facet, Place, Venue, dot, length, minus};

/// Sine of the angle off a surface's plane, as seen from its edge, from which on a surface that lies
/// on one side of both ends is no matter: that of 1.7°.
pub const ASIDE: f64 = 0.03;

/// What blocks sound in a venue, ready for many paths.
#[derive(Clone, Debug, Default)]
pub struct Room {
    blocking: Blocking,
}

impl Room {
    /// Floors and surfaces of a venue.
    #[must_use]
    pub fn of(venue: &Venue) -> Self {
        Self {
            blocking: venue.blocking(),
        }
    }

    /// Its surfaces.
    #[must_use]
    pub fn blocking(&self) -> &Blocking {
        &self.blocking
    }

    pub(super) fn bodies(&self) -> &[Body] {
        &self.blocking.bodies
    }

    /// The detour round what is in the way of a path: positive in a shadow, infinite where there is
    /// no way round, negative where the path is free but passes an edge, −∞ where it passes none
    /// within `most_m`.
    #[must_use]
    pub fn detour_m(&self, from_m: Place, to_m: Place, most_m: f64) -> f64 {
        let path = Path::new(from_m, to_m);
        self.bodies()
            .iter()
            .map(|body| detour_past_m(&body.facets, &body.edges, &path, most_m))
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

/// A straight path from a cabinet to a receiver.
pub(super) struct Path {
    from_m: Place,
    to_m: Place,
    length_m: f64,
}

impl Path {
    pub(super) fn new(from_m: Place, to_m: Place) -> Self {
        Self {
            from_m,
            to_m,
            length_m: length(minus(to_m, from_m)),
        }
    }
}

/// The same past one body's pieces, round some of its edges.
pub(super) fn detour_past_m(facets: &[Facet], edges: &[Edge], path: &Path, most_m: f64) -> f64 {
    let through = facets
        .iter()
        .filter(|facet| facet.crossing(path.from_m, path.to_m).is_some())
        .count();
    if through > 0 {
        // An odd number of pieces leaves the end on the other side, where no crest leads.
        let ways = edges
            .iter()
            .filter(|edge| through % 2 == 0 || !edge.is_crest());
        return ways
            .map(|edge| over_m(edge, path).0)
            .fold(f64::INFINITY, f64::min);
    }
    let mut nearest_m = most_m;
    for edge in edges {
        let (detour_m, turn) = over_m(edge, path);
        if detour_m < nearest_m {
            let share = between_share(edge, path, edge.at(turn));
            nearest_m = nearest_m.min(detour_m / (share * share));
        }
    }
    if nearest_m < most_m {
        -nearest_m
    } else {
        f64::NEG_INFINITY
    }
}

/// The detour over an edge, and how far along it the way turns.
pub(super) fn over_m(edge: &Edge, path: &Path) -> (f64, f64) {
    let [from, before] = edge.split_m(path.from_m);
    let [to, after] = edge.split_m(path.to_m);
    let turn = if before + after > 0.0 {
        (from * after + to * before) / (before + after)
    } else {
        0.5 * (from + to)
    };
    let square = |side: f64| side * side;
    let clamped = turn.clamp(0.0, edge.length_m());
    let way_m = if turn == clamped {
        (square(before + after) + square(from - to)).sqrt()
    } else {
        (square(before) + square(from - clamped)).sqrt()
            + (square(after) + square(to - clamped)).sqrt()
    };
    ((way_m - path.length_m).max(0.0), clamped)
}

/// 1 where the pieces at an edge lie between two points, 0 where one lies well on one side of both.
fn between_share(edge: &Edge, path: &Path, turn_m: Place) -> f64 {
    let (from, to) = (minus(path.from_m, turn_m), minus(path.to_m, turn_m));
    let (from_length, to_length) = (length(from), length(to));
    let mut share = 1.0;
    for &normal in &edge.normals {
        let above = dot(normal, from) / from_length;
        let beyond = dot(normal, to) / to_length;
        if above * beyond > 0.0 {
            share *= aside(above.abs().min(beyond.abs()));
        }
    }
    share
}

/// 1 on a surface's plane, falling smoothly to 0 at [`ASIDE`].
pub(super) fn aside(sine: f64) -> f64 {
    let off = (sine / ASIDE).min(1.0);
    1.0 - off * off * (3.0 - 2.0 * off)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Surface;
    use approx::assert_relative_eq;

    fn room(surfaces: &[&[[f64; 2]]]) -> Room {
        let surface = |profile: &&[[f64; 2]]| Surface {
            name: "demo data".into(),
            profile_m: profile.to_vec(),
            across_m: None,
            polygon_m: Vec::new(),
        };
        Room::of(&Venue {
            name: "demo data".into(),
            areas: Vec::new(),
            surfaces: surfaces.iter().map(surface).collect(),
            floors_block: true,
            hidden_seats: Default::default(),
        })
    }

    #[test]
    fn over_a_wall_the_detour_is_that_of_the_unfolded_triangle() {
        let wall = room(&[&[[10.0, 0.0], [10.0, 5.0]]]);
        let (from, to) = ([0.0, 0.0, 3.0], [20.0, 6.0, 3.0]);
        let legs = 2.0 * (100.0f64 + 4.0).sqrt();
        let expected = legs.hypot(6.0) - 436f64.sqrt();
        assert_relative_eq!(wall.detour_m(from, to, 9.0), expected, max_relative = 1e-12);
        assert_relative_eq!(wall.detour_m(to, from, 9.0), expected, max_relative = 1e-12);
    }

    #[test]
    fn the_detour_goes_through_nothing_where_a_path_sweeps_over_an_edge() {
        let wall = room(&[&[[10.0, -50.0], [10.0, 5.0]]]);
        let at = |z: f64| wall.detour_m([0.0, 0.0, z], [20.0, 0.0, z], 9.0);
        assert!(at(5.0 + 1e-5) < 0.0 && at(5.0 + 1e-5) > -1e-10);
        assert!(at(5.0 - 1e-5) > 0.0 && at(5.0 - 1e-5) < 1e-10);
        assert_eq!(at(30.0), f64::NEG_INFINITY);
    }

    #[test]
    fn a_floor_below_both_ends_is_no_matter_and_one_between_them_is() {
        let floor = room(&[&[[5.0, 0.0], [30.0, 0.0]]]);
        assert_eq!(
            floor.detour_m([0.0, 0.0, 8.0], [5.5, 0.0, 1.2], 50.0),
            f64::NEG_INFINITY
        );
        assert!(floor.detour_m([0.0, 0.0, 8.0], [4.9, 0.0, -1.0], 50.0) < 0.0);
        assert!(floor.detour_m([0.0, 0.0, 8.0], [10.0, 0.0, -1.0], 50.0) > 0.0);
    }

    #[test]
    fn a_crest_leads_back_down_and_not_to_the_other_side() {
        let ridge = room(&[&[[0.0, 0.0], [10.0, 4.0], [20.0, 0.0]]]);
        let over = ridge.detour_m([-1.0, 0.0, 3.0], [21.0, 0.0, 3.0], 9.0);
        let legs = 2.0 * (121.0f64 + 1.0).sqrt();
        assert_relative_eq!(over, legs - 22.0, max_relative = 1e-12);
        let under = ridge.detour_m([5.0, 0.0, 8.0], [10.0, 0.0, 1.0], 9.0);
        let nearest = 5f64.hypot(8.0) + 10f64.hypot(1.0) - 5f64.hypot(7.0);
        assert_relative_eq!(under, nearest, max_relative = 1e-12);
    }

    #[test]
    fn a_shadow_of_several_bodies_is_that_of_the_deepest() {
        let low = room(&[&[[10.0, -50.0], [10.0, 5.0]]]);
        let both = room(&[&[[10.0, -50.0], [10.0, 5.0]], &[[14.0, -50.0], [14.0, 9.0]]]);
        let (from, to) = ([0.0, 0.0, 3.0], [20.0, 0.0, 3.0]);
        assert!(both.detour_m(from, to, 9.0) > low.detour_m(from, to, 9.0));
    }
}
