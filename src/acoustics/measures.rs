//! How evenly the seats are served.
//!
//! L_r = 10 lg of the mean over the bands of their energies, each the mean over its lines;
//! evenness = √(Σ w (L_r − L̄)² / Σ w), with w the seat's weight and L̄ the weighted mean.

use super::field::Field;
use super::lines::Lines;
use super::receivers::Receivers;
use crate::error::{InputError, Result};

/// Level of each receiver over all bands of `lines` in dB, 0 dB being unit pressure.
#[must_use]
pub fn broadband_db(field: &Field, lines: &Lines) -> Vec<f64> {
    (0..field.tiles())
        .flat_map(|tile| tile_broadband_db(field, lines, tile))
        .collect()
}

/// The same of the receivers of one tile.
pub fn tile_broadband_db(
    field: &Field,
    lines: &Lines,
    tile: usize,
) -> impl Iterator<Item = f64> + use<> {
    let count = field.receivers_of(tile).len();
    let energies = field.broadband_energy(lines, tile).into_iter();
    energies.take(count).map(|energy| 10.0 * energy.log10())
}

/// The least that the evenness can still be, as seats become known one by one: seats that are yet
/// to come only add to Σ w (L − L̄)².
#[derive(Clone, Copy, Debug, Default)]
pub struct LeastSpread {
    weight: f64,
    mean_db: f64,
    square: f64,
}

impl LeastSpread {
    /// Takes in the level of one more seat.
    pub fn include(&mut self, level_db: f64, weight: f64) {
        if weight > 0.0 {
            let off_db = level_db - self.mean_db;
            self.weight += weight;
            self.mean_db += off_db * weight / self.weight;
            self.square += weight * off_db * (level_db - self.mean_db);
        }
    }

    /// Whether the spread of all seats, `total` being their weight, must exceed `most_db`. Never
    /// for want of the last digits, and never where a seat hears nothing.
    #[must_use]
    pub fn exceeds(&self, most_db: f64, total: f64) -> bool {
        const ROUNDING: f64 = 1e-9;
        let most = total * (most_db * (1.0 + ROUNDING)).powi(2);
        self.square > most && self.square.is_finite()
    }
}

/// Weighted standard deviation of the seats' broadband levels; with `target_db`, a wanted level for
/// each seat up to a constant, of their levels relative to it.
#[must_use]
pub fn evenness_db(
    field: &Field,
    receivers: &Receivers,
    lines: &Lines,
    target_db: Option<&[f64]>,
) -> f64 {
    let mut levels = broadband_db(field, lines);
    if let Some(target_db) = target_db {
        for (level, target) in levels.iter_mut().zip(target_db) {
            *level -= target;
        }
    }
    spread_db(&levels, receivers.weight())
}

/// √(Σ w (L − L̄)² / Σ w); 0 for no receivers.
#[must_use]
pub fn spread_db(level_db: &[f64], weight: &[f64]) -> f64 {
    let heard = || level_db.iter().zip(weight).filter(|(_, w)| **w > 0.0);
    let total: f64 = heard().map(|(_, w)| w).sum();
    if total == 0.0 {
        return 0.0;
    }
    let mean = heard().map(|(level, w)| w * level).sum::<f64>() / total;
    let square: f64 = heard().map(|(level, w)| w * (level - mean).powi(2)).sum();
    (square / total).sqrt()
}

/// Gives `evenness_db` back, unless some seat hears nothing: then it is no number.
///
/// # Errors
/// `evenness_db` is not finite.
pub fn where_all_hear(evenness_db: f64) -> Result<f64> {
    if evenness_db.is_finite() {
        return Ok(evenness_db);
    }
    Err(InputError::new(
        "venue",
        "a seat that no sound reaches",
        "seats that all hear some of the sound in these bands",
    ))
}

/// Wanted level of each seat for a change of `fall_db_per_doubling` with each doubling of its
/// distance from `origin_m`.
#[must_use]
pub fn falling_db(
    receivers: &Receivers,
    origin_m: [f64; 3],
    fall_db_per_doubling: f64,
) -> Vec<f64> {
    receivers
        .points_m()
        .map(|point| {
            let square: f64 = point
                .iter()
                .zip(origin_m)
                .map(|(a, b)| (a - b).powi(2))
                .sum();
            fall_db_per_doubling * square.sqrt().log2()
        })
        .collect()
}

/// Change of level with each doubling of distance: the slope of a weighted straight line through
/// level over log₂ distance. `None` where all distances are the same.
#[must_use]
pub fn fall_per_doubling_db(level_db: &[f64], distance_m: &[f64], weight: &[f64]) -> Option<f64> {
    let seats = || {
        let rows = level_db.iter().zip(distance_m).zip(weight);
        rows.map(|((level, distance), w)| (*level, distance.log2(), *w))
            .filter(|row| row.2 > 0.0)
    };
    let total: f64 = seats().map(|(_, _, w)| w).sum();
    let mean_level = seats().map(|(level, _, w)| w * level).sum::<f64>() / total;
    let mean_octave = seats().map(|(_, octave, w)| w * octave).sum::<f64>() / total;
    let (mut square, mut product) = (0.0, 0.0);
    for (level, octave, w) in seats() {
        square += w * (octave - mean_octave).powi(2);
        product += w * (octave - mean_octave) * (level - mean_level);
    }
    (square > 0.0).then(|| product / square)
}

/// Share of the seats' weight that lies more than `depth_db` below the weighted mean level.
#[must_use]
pub fn share_of_holes(level_db: &[f64], weight: &[f64], depth_db: f64) -> f64 {
    let total: f64 = weight.iter().sum();
    let heard = level_db.iter().zip(weight).filter(|(_, w)| **w > 0.0);
    let mean = heard.clone().map(|(level, w)| w * level).sum::<f64>() / total;
    heard
        .filter(|(level, _)| **level < mean - depth_db)
        .map(|(_, w)| w)
        .sum::<f64>()
        / total
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn spread_is_the_weighted_standard_deviation() {
        assert_relative_eq!(
            spread_db(&[1.0, 4.0], &[2.0, 1.0]),
            2f64.sqrt(),
            max_relative = 1e-15
        );
        assert_eq!(spread_db(&[3.0, f64::NEG_INFINITY], &[1.0, 0.0]), 0.0);
    }

    #[test]
    fn the_least_spread_is_never_above_the_spread_of_all_and_reaches_it() {
        let level_db = [-61.0, -58.5, -64.25, -58.5, -70.0, -57.0];
        let weight = [1.0, 2.5, 0.0, 0.5, 3.0, 1.0];
        let total: f64 = weight.iter().sum();
        let all_db = spread_db(&level_db, &weight);
        let mut least = LeastSpread::default();
        for (level, weight) in level_db.into_iter().zip(weight) {
            least.include(level, weight);
            assert!(!least.exceeds(all_db, total));
        }
        assert!(least.exceeds(all_db * (1.0 - 1e-8), total));
        assert!(!least.exceeds(f64::INFINITY, total));
        least.include(f64::NEG_INFINITY, 1.0);
        assert!(!least.exceeds(0.0, total));
    }
}
