//! How unevenly are the seats served, band by band?
//!
//! J = √( Σ_b v_b Σ_r w_r (L_rb − T_r − M_b)² / (Σ v Σ w) )
//!
//! | name | meaning |
//! |---|---|
//! | L_rb | level of seat r in band b, the energy mean over the band's lines |
//! | w_r, v_b | weights of seats (floor area) and bands |
//! | T_r | what is wanted at seat r, up to a constant; 0 asks for the same level everywhere |
//! | M_b | the band's own mean, Σ_r w_r (L_rb − T_r) / Σ w: a filter on the whole hang sets it |
//!
//! J² is exactly the square of the spread of the seats' mean level over the bands plus that of the
//! [spectral spread](super::spectral). A spread of levels summed over the bands first
//! ([`measures`](super::measures)) hides holes that move with frequency; J does not.

use super::spectral;

/// What is measured of the levels at the seats.
#[derive(Clone, Debug, PartialEq)]
pub struct Unevenness {
    /// J.
    pub unevenness_db: f64,
    /// Spread of the seats in each band, √(Σ_r w (L_rb − T_r − M_b)² / Σ w).
    pub band_spread_db: Vec<f64>,
    /// M_b.
    pub band_mean_db: Vec<f64>,
    /// Weighted mean of M_b over the bands.
    pub mean_db: f64,
    /// How the seats differ in colour.
    pub spectral_spread_db: f64,
    /// Share of the weight of seats and bands more than 3 dB below their band's mean.
    pub share_3_db_below: f64,
    /// The same for 6 dB.
    pub share_6_db_below: f64,
}

/// The measures of levels laid out band by band; `wanted_db` holds T_r.
#[must_use]
pub fn of_levels(
    band_db: &[Vec<f64>],
    weight: &[f64],
    wanted_db: Option<&[f64]>,
    band_weight: &[f64],
) -> Unevenness {
    let relative: Vec<Vec<f64>> = band_db
        .iter()
        .map(|levels| match wanted_db {
            Some(wanted_db) => levels.iter().zip(wanted_db).map(|(l, t)| l - t).collect(),
            None => levels.clone(),
        })
        .collect();
    let mut running = Running::new(band_weight);
    let mut seat_db = vec![0.0; band_db.len()];
    for (seat, &weight) in weight.iter().enumerate() {
        for (level, levels) in seat_db.iter_mut().zip(&relative) {
            *level = levels[seat];
        }
        running.include(&seat_db, weight);
    }
    let total: f64 = weight.iter().sum();
    let below = |depth_db: f64| {
        let cells = relative.iter().zip(running.mean_db()).zip(band_weight);
        let mut share = 0.0;
        for ((levels, mean_db), v) in cells {
            let low = levels.iter().zip(weight);
            let low = low.filter(|(level, _)| **level < mean_db - depth_db);
            share += v * low.map(|(_, w)| w).sum::<f64>();
        }
        share / total / band_weight.iter().sum::<f64>()
    };
    Unevenness {
        unevenness_db: running.spread_db(),
        band_spread_db: running.band_spread_db(),
        band_mean_db: running.mean_db().to_vec(),
        mean_db: running.mean_over_bands_db(),
        spectral_spread_db: spectral::spread_of(&relative, weight, band_weight),
        share_3_db_below: below(3.0),
        share_6_db_below: below(6.0),
    }
}

/// The sums behind J as seats become known one by one.
///
/// T. F. Chan, G. H. Golub, R. J. LeVeque, "Algorithms for computing the sample variance", The
/// American Statistician 37 (1983): means and squares about them are brought up to date seat by
/// seat, so nothing large cancels.
#[derive(Clone, Debug)]
pub struct Running {
    band_weight: Vec<f64>,
    weight: f64,
    mean_db: Vec<f64>,
    square: Vec<f64>,
}

impl Running {
    /// No seat yet.
    #[must_use]
    pub fn new(band_weight: &[f64]) -> Self {
        Self {
            band_weight: band_weight.to_vec(),
            weight: 0.0,
            mean_db: vec![0.0; band_weight.len()],
            square: vec![0.0; band_weight.len()],
        }
    }

    /// Forgets all seats.
    pub fn clear(&mut self) {
        self.weight = 0.0;
        self.mean_db.fill(0.0);
        self.square.fill(0.0);
    }

    /// Takes in one more seat's levels, one per band, T_r taken off.
    pub fn include(&mut self, level_db: &[f64], weight: f64) {
        if weight <= 0.0 {
            return;
        }
        self.weight += weight;
        let share = weight / self.weight;
        let kept = self.mean_db.iter_mut().zip(&mut self.square);
        for (level, (mean, square)) in level_db.iter().zip(kept) {
            let off_db = level - *mean;
            *mean += off_db * share;
            *square += weight * off_db * (level - *mean);
        }
    }

    /// M_b of the seats so far.
    #[must_use]
    pub fn mean_db(&self) -> &[f64] {
        &self.mean_db
    }

    /// Weighted mean of M_b over the bands.
    #[must_use]
    pub fn mean_over_bands_db(&self) -> f64 {
        self.over_bands(|band| self.mean_db[band])
    }

    /// J of the seats so far; 0 for none.
    #[must_use]
    pub fn spread_db(&self) -> f64 {
        if self.weight == 0.0 {
            return 0.0;
        }
        (self.over_bands(|band| self.square[band]) / self.weight).sqrt()
    }

    /// The seats' spread in each band.
    #[must_use]
    pub fn band_spread_db(&self) -> Vec<f64> {
        let weight = if self.weight > 0.0 { self.weight } else { 1.0 };
        self.square
            .iter()
            .map(|square| (square / weight).sqrt())
            .collect()
    }

    /// Weighted mean of one value per band.
    pub fn over_bands(&self, value: impl Fn(usize) -> f64) -> f64 {
        let total: f64 = self.band_weight.iter().sum();
        let weighted = self.band_weight.iter().enumerate();
        weighted.map(|(band, v)| v * value(band)).sum::<f64>() / total
    }

    /// The least that J − λ·(mean of M_b) can still be once all seats, of weight `total`, are known.
    ///
    /// Seats to come are a share f of the weight. Whatever their levels, J² ≥ s² + f (1 − f) t² with
    /// s² the square known so far over the whole weight and t how far their mean level lies above
    /// the mean m so far, and the mean becomes m + f t. The least of √(s² + f (1 − f) t²) − λ f t
    /// over t is s·√(1 − λ² f/(1 − f)); no bound is known where the root has none.
    #[must_use]
    pub fn least(&self, level_price: f64, total: f64) -> f64 {
        let known = self.weight / total;
        let shift = level_price * level_price * (1.0 - known).max(0.0) / known;
        let square = self.over_bands(|band| self.square[band]) / total;
        if self.weight > 0.0 && shift < 1.0 && square.is_finite() {
            (square * (1.0 - shift)).sqrt() - level_price * self.mean_over_bands_db()
        } else {
            f64::NEG_INFINITY
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn levels() -> (Vec<Vec<f64>>, Vec<f64>) {
        let band_db = (0..4)
            .map(|band: i32| {
                (0..9)
                    .map(|seat: i32| {
                        -60.0 - f64::from((7 * seat + 5 * band) % 11) + f64::from(seat * band) / 3.0
                    })
                    .collect()
            })
            .collect();
        let weight = (0..9).map(|seat| f64::from(seat % 4)).collect();
        (band_db, weight)
    }

    #[test]
    fn the_square_splits_into_level_and_colour() {
        let (band_db, weight) = levels();
        let found = of_levels(&band_db, &weight, None, &[1.0; 4]);
        let mean_db: Vec<f64> = (0..9)
            .map(|seat| band_db.iter().map(|b| b[seat]).sum::<f64>() / 4.0)
            .collect();
        let level_db = super::super::measures::spread_db(&mean_db, &weight);
        assert_relative_eq!(
            found.unevenness_db.powi(2),
            level_db.powi(2) + found.spectral_spread_db.powi(2),
            max_relative = 1e-13
        );
        let bands: f64 = found.band_spread_db.iter().map(|s| s * s).sum();
        assert_relative_eq!(
            found.unevenness_db.powi(2),
            bands / 4.0,
            max_relative = 1e-13
        );
    }

    #[test]
    fn a_filter_on_the_whole_hang_changes_nothing_but_the_means() {
        let (mut band_db, weight) = levels();
        let before = of_levels(&band_db, &weight, None, &[1.0, 2.0, 1.0, 0.5]);
        for (band, levels) in band_db.iter_mut().enumerate() {
            levels
                .iter_mut()
                .for_each(|level| *level += 3.0 * band as f64);
        }
        let after = of_levels(&band_db, &weight, None, &[1.0, 2.0, 1.0, 0.5]);
        assert_relative_eq!(
            before.unevenness_db,
            after.unevenness_db,
            max_relative = 1e-12
        );
        assert_relative_eq!(
            after.band_mean_db[3] - before.band_mean_db[3],
            9.0,
            max_relative = 1e-12
        );
    }

    #[test]
    fn what_is_wanted_is_no_unevenness() {
        let (band_db, weight) = levels();
        let wanted_db: Vec<f64> = (0..9).map(f64::from).collect();
        let shaped: Vec<Vec<f64>> = band_db
            .iter()
            .map(|levels| levels.iter().zip(&wanted_db).map(|(l, t)| l + t).collect())
            .collect();
        assert_relative_eq!(
            of_levels(&shaped, &weight, Some(&wanted_db), &[1.0; 4]).unevenness_db,
            of_levels(&band_db, &weight, None, &[1.0; 4]).unevenness_db,
            max_relative = 1e-12
        );
    }

    #[test]
    fn the_least_is_never_above_what_all_seats_give_and_reaches_it() {
        let (band_db, weight) = levels();
        let total: f64 = weight.iter().sum();
        for price in [0.0, 0.1, 0.5, 2.0] {
            let mut running = Running::new(&[1.0; 4]);
            let mut least = Vec::new();
            for (seat, &weight) in weight.iter().enumerate() {
                let seat_db: Vec<f64> = band_db.iter().map(|levels| levels[seat]).collect();
                running.include(&seat_db, weight);
                least.push(running.least(price, total));
            }
            let all = running.spread_db() - price * running.mean_over_bands_db();
            assert!(
                least.iter().all(|&bound| bound <= all + 1e-9),
                "{price}: {least:?} {all}"
            );
            assert_relative_eq!(least[8], all, max_relative = 1e-12);
        }
    }

    #[test]
    fn cells_below_their_bands_mean_are_counted_by_weight() {
        let band_db = vec![vec![0.0, 0.0, -8.0, 8.0], vec![0.0; 4]];
        let found = of_levels(&band_db, &[1.0, 1.0, 2.0, 2.0], None, &[1.0, 1.0]);
        assert_relative_eq!(found.share_6_db_below, 1.0 / 6.0, max_relative = 1e-15);
        assert_relative_eq!(found.share_3_db_below, 1.0 / 6.0, max_relative = 1e-15);
    }
}
