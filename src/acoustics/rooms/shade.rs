//! Which paths from cabinets to receivers are not clear, and their detours.

use std::ops::Range;

/// A detour that stands for a path which passes no edge.
pub(in crate::acoustics) const CLEAR: f64 = f64::NEG_INFINITY;

/// The cabinets whose paths to the receivers of a tile are not all clear, tile by tile.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shade {
    tiles: Vec<Range<usize>>,
    cabinets: Vec<usize>,
    detour_m: Vec<f64>,
}

impl Shade {
    /// Each cabinet that is shaded at a tile, in rising order, with its detour to each receiver there
    /// as [`Room::detour_m`](super::Room::detour_m) gives it.
    pub fn of_tile(&self, tile: usize) -> impl Iterator<Item = (usize, &[f64])> {
        let lanes = self.detour_m.len() / self.cabinets.len().max(1);
        self.tiles[tile].clone().map(move |at| {
            let detour_m = &self.detour_m[at * lanes..(at + 1) * lanes];
            (self.cabinets[at], detour_m)
        })
    }

    /// Goes on to the next tile, at which these cabinets are shaded.
    pub(super) fn add_tile<const TILE: usize>(
        &mut self,
        shaded: impl Iterator<Item = (usize, [f64; TILE])>,
    ) {
        let start = self.cabinets.len();
        for (cabinet, detour_m) in shaded {
            self.cabinets.push(cabinet);
            self.detour_m.extend(detour_m);
        }
        self.tiles.push(start..self.cabinets.len());
    }
}
