//! The edges of surfaces, which sound can bend round.
//!
//! An edge that one plane piece has for itself is a rim. Where two pieces meet at an angle the edge is
//! a crest; where they go straight on there is none.

use super::facet::{Facet, Place, between, dot, length, minus, sides};
use std::collections::HashMap;

/// Surfaces nearer than this touch.
const TOUCH_M: f64 = 0.02;

/// Pieces whose normals differ by less (1 − cos of 1°) go straight on.
const STRAIGHT: f64 = 1.5e-4;

/// An edge of a surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Edge {
    /// Its ends.
    pub ends_m: [Place; 2],
    /// Unit normals of the pieces that meet there.
    pub normals: Vec<Place>,
    length_m: f64,
    /// Unit vector from the first end to the other.
    along: Place,
}

impl Edge {
    fn new(ends_m: [Place; 2], normals: Vec<Place>) -> Self {
        let [start, end] = ends_m;
        let length_m = length(minus(end, start));
        Self {
            ends_m,
            normals,
            length_m,
            along: minus(end, start).map(|part| part / length_m),
        }
    }

    pub(super) fn rim(ends_m: [Place; 2], normal: Place) -> Self {
        Self::new(ends_m, vec![normal])
    }

    /// An edge between two pieces, unless they go straight on.
    pub(super) fn crest(ends_m: [Place; 2], normals: [Place; 2]) -> Option<Self> {
        let bent = 1.0 - dot(normals[0], normals[1]).abs() > STRAIGHT;
        bent.then(|| Self::new(ends_m, normals.to_vec()))
    }

    /// The stretch of it between two shares of its length.
    #[must_use]
    pub fn stretch(&self, shares: [f64; 2]) -> Self {
        let [start, end] = self.ends_m;
        let ends_m = shares.map(|share| between(start, end, share));
        Self::new(ends_m, self.normals.clone())
    }

    /// How far along it a place lies from its first end, and how far from its line.
    #[must_use]
    pub fn split_m(&self, place_m: Place) -> [f64; 2] {
        let off = minus(place_m, self.ends_m[0]);
        let along_m = dot(off, self.along);
        // Not by Pythagoras: edges can be kilometres long.
        let aside = [0, 1, 2].map(|axis| off[axis] - along_m * self.along[axis]);
        [along_m, length(aside)]
    }

    /// Its length.
    #[must_use]
    pub fn length_m(&self) -> f64 {
        self.length_m
    }

    /// The place so far along it.
    #[must_use]
    pub fn at(&self, along_m: f64) -> Place {
        [0, 1, 2].map(|axis| self.ends_m[0][axis] + along_m * self.along[axis])
    }

    /// Whether it is a crest.
    #[must_use]
    pub fn is_crest(&self) -> bool {
        self.normals.len() > 1
    }

    /// Points to tell by whether it lies on something; of an endless edge, near the hang's plane.
    pub(super) fn probes_m(&self) -> [Place; 3] {
        let [a, b] = self.ends_m;
        let long = self.length_m > 1e3;
        [0.1, 0.5, 0.9].map(|share| {
            let share = if long {
                0.5 + (share - 0.5) * 1e-4
            } else {
                share
            };
            between(a, b, share)
        })
    }

    pub(super) fn lies_on(&self, facets: &[Facet]) -> bool {
        self.probes_m()
            .iter()
            .all(|&probe| facets.iter().any(|facet| touches(facet, probe)))
    }
}

/// Whether a point lies on a facet.
pub(super) fn touches(facet: &Facet, point_m: Place) -> bool {
    if facet.height_m(point_m).abs() > TOUCH_M {
        return false;
    }
    facet.encloses(point_m)
        || sides(facet.corners_m()).any(|[a, b]| {
            let along = minus(b, a);
            let share = dot(minus(point_m, a), along) / dot(along, along);
            length(minus(point_m, between(a, b, share.clamp(0.0, 1.0)))) < TOUCH_M
        })
}

/// The edges of facets that share their corners: rims, and crests where two meet at an angle.
pub(super) fn edges_of(facets: &[Facet]) -> Vec<Edge> {
    let key = |place: Place| place.map(|part| (part * 1e6).round() as i64);
    let mut found: HashMap<[[i64; 3]; 2], Edge> = HashMap::new();
    let mut order = Vec::new();
    for facet in facets {
        for ends_m in sides(facet.corners_m()) {
            let mut ends = ends_m.map(key);
            ends.sort_unstable();
            if ends[0] == ends[1] {
                continue;
            }
            found
                .entry(ends)
                .or_insert_with(|| {
                    order.push(ends);
                    Edge::new(ends_m, Vec::new())
                })
                .normals
                .push(facet.normal());
        }
    }
    order
        .iter()
        .filter_map(|ends| found.remove(ends))
        .filter_map(|edge| match edge.normals[..] {
            [_] => Some(edge),
            [first, second, ..] => Edge::crest(edge.ends_m, [first, second]),
            [] => None,
        })
        .collect()
}
