//! Do all seats hear the same spectrum?
//!
//! Of each seat's band levels L_rb, the mean over bands and the mean spectrum of all seats are
//! taken off; what is left is how its sound differs in colour:
//! s_rb = (L_rb − L̄_r) − Σ_r w (L_rb − L̄_r) / Σ w, and the spread is √(Σ_r w mean_b s_rb² / Σ w),
//! with the means over bands weighted where the bands are.

use super::field::Field;
use super::lines::Lines;
use super::receivers::Receivers;

/// Weighted spread of the seats' spectra about their mean spectrum.
#[must_use]
pub fn spectral_spread_db(field: &Field, receivers: &Receivers, lines: &Lines) -> f64 {
    spread_db(&field.band_levels(lines), receivers.weight())
}

/// The same of levels: `band_db` holds those of all receivers, band by band.
#[must_use]
pub fn spread_db(band_db: &[Vec<f64>], weight: &[f64]) -> f64 {
    spread_of(band_db, weight, &vec![1.0; band_db.len()])
}

/// The same with bands of these weights.
#[must_use]
pub fn spread_of(band_db: &[Vec<f64>], weight: &[f64], band_weight: &[f64]) -> f64 {
    let total: f64 = weight.iter().sum();
    let bands: f64 = band_weight.iter().sum();
    if total == 0.0 || bands == 0.0 {
        return 0.0;
    }
    let weighted = || band_db.iter().zip(band_weight);
    let mean_db: Vec<f64> = (0..weight.len())
        .map(|seat| weighted().map(|(levels, v)| v * levels[seat]).sum::<f64>() / bands)
        .collect();
    let mut square = 0.0;
    for (levels, v) in weighted() {
        let colour = || {
            let seats = levels.iter().zip(&mean_db).zip(weight);
            seats
                .filter(|(_, weight)| **weight > 0.0)
                .map(|((level, mean), weight)| (level - mean, weight))
        };
        let shared = colour().map(|(c, w)| w * c).sum::<f64>() / total;
        square += v * colour().map(|(c, w)| w * (c - shared).powi(2)).sum::<f64>();
    }
    (square / bands / total).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_difference_of_level_is_no_difference_of_colour() {
        let bands = vec![vec![3.0, 9.0], vec![5.0, 11.0]];
        assert_eq!(spread_db(&bands, &[1.0, 2.0]), 0.0);
    }

    #[test]
    fn a_tilt_of_one_seat_against_the_other_is_its_spread() {
        // Seat 1 is flat, seat 2 falls by 2 dB: both are 0.5 dB off the mean in each band.
        let bands = vec![vec![0.0, 1.0], vec![0.0, -1.0]];
        assert_relative_eq!(spread_db(&bands, &[1.0, 1.0]), 0.5, max_relative = 1e-15);
    }
}
