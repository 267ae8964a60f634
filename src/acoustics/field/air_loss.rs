//! What the air takes from a fixed place to each receiver, for those who ask for the field at the same
//! receivers again and again.

use super::lanes::TILE;
use crate::acoustics::lines::Lines;
use crate::acoustics::receivers::Receivers;
use crate::model::{Place, length, minus};

/// e^{−αd} of each line at each receiver, d being its distance from one place.
#[derive(Clone, Debug)]
pub struct AirLoss {
    lines: usize,
    distance_m: Vec<f64>,
    /// Tile by tile; in each, line by line, its receivers.
    factor: Vec<f64>,
}

impl AirLoss {
    /// Best of a place in the middle of the cabinets: the less need be worked out for each of them.
    #[must_use]
    pub fn from_place(place_m: Place, receivers: &Receivers, lines: &Lines) -> Self {
        let mut distance_m = Vec::new();
        let mut factor = Vec::new();
        for tile in 0..receivers.tiles() {
            let [x, y, z] = receivers.tile(tile);
            let first = distance_m.len();
            let points = x.iter().zip(y).zip(z);
            distance_m.extend(points.map(|((x, y), z)| length(minus([*x, *y, *z], place_m))));
            for decay_per_m in &lines.decay_per_m {
                let of_tile = distance_m[first..].iter();
                factor.extend(of_tile.map(|distance_m| (-decay_per_m * distance_m).exp()));
            }
        }
        Self {
            lines: lines.len(),
            distance_m,
            factor,
        }
    }

    pub(super) fn distance_m(&self, tile: usize) -> &[f64] {
        &self.distance_m[tile * TILE..(tile + 1) * TILE]
    }

    pub(super) fn factor(&self, tile: usize, line: usize) -> &[f64] {
        let at = (tile * self.lines + line) * TILE;
        &self.factor[at..at + TILE]
    }
}
