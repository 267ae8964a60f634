//! Which paths from cabinets to receivers are not clear, and their detours.

use crate::acoustics::field::TILE;
use std::ops::Range;

/// A detour that stands for a path which passes no edge.
pub(in crate::acoustics) const CLEAR: f64 = f64::NEG_INFINITY;

/// A cabinet whose paths to the receivers of a tile are not all clear.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shaded {
    /// Its number.
    pub cabinet: usize,
    /// The detour to each receiver, as [`Room::detour_m`](super::Room::detour_m) gives it.
    pub detour_m: [f64; TILE],
}

/// The cabinets whose paths to the receivers of a tile are not all clear, tile by tile.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shade {
    tiles: Vec<Range<usize>>,
    shaded: Vec<Shaded>,
}

impl Shade {
    /// Each cabinet that is shaded at a tile, in rising order.
    #[must_use]
    pub fn of_tile(&self, tile: usize) -> &[Shaded] {
        &self.shaded[self.tiles[tile].clone()]
    }

    /// Goes on to the next tile, at which these cabinets are shaded.
    pub(super) fn add_tile(&mut self, shaded: impl IntoIterator<Item = Shaded>) {
        let start = self.shaded.len();
        self.shaded.extend(shaded);
        self.tiles.push(start..self.shaded.len());
    }
}
