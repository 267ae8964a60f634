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
}

impl Edge {
    pub(super) fn rim(ends_m: [Place; 2], normal: Place) -> Self {
        Self {
            ends_m,
            normals: vec![normal],
        }
    }

    /// An edge between two pieces, unless they go straight on.
    pub(super) fn crest(ends_m: [Place; 2], normals: [Place; 2]) -> Option<Self> {
        let bent = 1.0 - dot(normals[0], normals[1]).abs() > STRAIGHT;
        bent.then(|| Self {
            ends_m,
            normals: normals.to_vec(),
        })
    }

    /// Whether it is a crest.
    #[must_use]
    pub fn is_crest(&self) -> bool {
        self.normals.len() > 1
    }

    /// Points to tell by whether it lies on something; of an endless edge, near the hang's plane.
    pub(super) fn probes_m(&self) -> [Place; 3] {
        let [a, b] = self.ends_m;
        let long = length(minus(b, a)) > 1e3;
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
                    Edge {
                        ends_m,
                        normals: Vec::new(),
                    }
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
