//! The few edges of a body that a chain behind it can touch.

use super::plane::Vec2;
use crate::model::{MOST_REAR_CORNERS, Point};

/// Up to [`MOST_REAR_CORNERS`] places on a body, top to bottom; no allocation, bodies being copied often.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct RearEdges {
    places_m: [Vec2; MOST_REAR_CORNERS],
    count: usize,
}

impl RearEdges {
    /// Upper and lower edge of a box.
    pub fn of([upper, lower]: [Vec2; 2]) -> Self {
        let mut edges = Self::default();
        (edges.places_m[0], edges.places_m[1], edges.count) = (upper, lower, 2);
        edges
    }

    /// Any places, those beyond the most left out.
    pub fn some<'a>(places_m: impl Iterator<Item = &'a Point>) -> Self {
        let mut edges = Self::default();
        for (place, &at) in edges.places_m.iter_mut().zip(places_m) {
            *place = at.into();
            edges.count += 1;
        }
        edges
    }

    /// The places.
    pub fn places(&self) -> &[Vec2] {
        &self.places_m[..self.count]
    }

    /// Moves all by `way`.
    pub fn shift(&mut self, way: Vec2) {
        for place in &mut self.places_m[..self.count] {
            *place += way;
        }
    }
}
