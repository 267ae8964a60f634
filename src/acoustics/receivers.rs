//! The places at which the field is calculated.

use super::field::lanes::TILE;
use crate::model::Seat;

/// Points in the room, coordinate by coordinate, in whole tiles.
#[derive(Clone, Debug)]
pub struct Receivers {
    count: usize,
    coordinates: [Vec<f64>; 3],
    weight: Vec<f64>,
}

impl Receivers {
    /// Points `[x, y, z]`, each of weight 1.
    pub fn of_points(points_m: impl ExactSizeIterator<Item = [f64; 3]>) -> Self {
        Self::new(points_m.map(|point| (point, 1.0)))
    }

    /// The ears of a venue's seats, with the seats' weights.
    #[must_use]
    pub fn of_seats(seats: &[Seat]) -> Self {
        Self::new(seats.iter().map(|seat| (seat.ear_m, seat.weight)))
    }

    fn new(points: impl ExactSizeIterator<Item = ([f64; 3], f64)>) -> Self {
        let count = points.len();
        let padded = count.div_ceil(TILE) * TILE;
        let mut coordinates = [(); 3].map(|()| Vec::with_capacity(padded));
        let mut weight = Vec::with_capacity(count);
        for (point, point_weight) in points {
            for (list, value) in coordinates.iter_mut().zip(point) {
                list.push(value);
            }
            weight.push(point_weight);
        }
        for list in &mut coordinates {
            // The last tile is filled up with its last point, whose results are thrown away.
            let last = list.last().copied().unwrap_or(0.0);
            list.resize(padded, last);
        }
        Self {
            count,
            coordinates,
            weight,
        }
    }

    /// Number of points.
    #[must_use]
    pub fn len(&self) -> usize {
        self.count
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// Weights in measures.
    #[must_use]
    pub fn weight(&self) -> &[f64] {
        &self.weight
    }

    /// Point number `index`.
    #[must_use]
    pub fn point_m(&self, index: usize) -> [f64; 3] {
        let [x, y, z] = &self.coordinates;
        [x[index], y[index], z[index]]
    }

    /// All points.
    pub fn points_m(&self) -> impl Iterator<Item = [f64; 3]> + '_ {
        (0..self.count).map(|index| self.point_m(index))
    }

    pub(in crate::acoustics) fn tiles(&self) -> usize {
        self.coordinates[0].len() / TILE
    }

    /// The coordinates of one tile's points.
    pub(in crate::acoustics) fn tile(&self, tile: usize) -> [&[f64]; 3] {
        let [x, y, z] = &self.coordinates;
        let points = tile * TILE..(tile + 1) * TILE;
        [&x[points.clone()], &y[points.clone()], &z[points]]
    }
}
