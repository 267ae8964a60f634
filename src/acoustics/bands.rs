//! Third octaves and the frequencies calculated in them.
//!
//! Mid-band frequencies and edges: IEC 61260-1:2014, base-ten system, f_m = 1000·10^{b/10} Hz and
//! f_m·10^{±1/20} for band number b (0 at 1 kHz).
//!
//! Each of a band's n lines stands for an n-th of it and lies in the middle of that part, on a
//! logarithmic scale. Up to [`MOST_CHAINED`] lines those parts are of a third of an octave about
//! 1000·2^{b/3} Hz, so a line of band b + 3 is exactly twice a line of band b, which the field's
//! kernel makes use of; the base-two steps drift from the base-ten ones by 0.00114 octave a band,
//! little enough for so few lines to stay inside their band from 20 Hz to 20 kHz. More lines take
//! their parts from the band's own edges, and the band's level converges with their number.

use crate::error::{InputError, Result, accept};

/// Band numbers of the third octaves from 1 to 8 kHz, over which evenness is taken.
pub const EVENNESS: [i32; 10] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9];

/// Lowest and highest band number: 20 Hz and 20 kHz.
const RANGE: std::ops::RangeInclusive<i32> = -17..=13;

/// Lines a band up to which lines three bands apart are exact octaves: half a base-ten third octave
/// is log₂(10)/20 = 0.1661 octave, the drift at 20 Hz 0.0194, and the outermost of eight lines lies
/// (1 − 1/8)/6 = 0.1458 octave off the middle.
pub const MOST_CHAINED: u32 = 8;

/// Mid-band frequency of band `number`.
#[must_use]
pub fn mid_hz(number: i32) -> f64 {
    1000.0 * 10f64.powf(f64::from(number) / 10.0)
}

/// Lower and upper edge of band `number`.
#[must_use]
pub fn edges_hz(number: i32) -> [f64; 2] {
    [
        1000.0 * 10f64.powf(f64::from(number) / 10.0 - 0.05),
        1000.0 * 10f64.powf(f64::from(number) / 10.0 + 0.05),
    ]
}

/// The `count` frequencies calculated in band `number`, ascending.
///
/// # Errors
/// `number` outside −17 to 13 (20 Hz to 20 kHz), or `count` outside 1 to 24.
pub fn lines_hz(number: i32, count: u32) -> Result<Vec<f64>> {
    accept(RANGE.contains(&number), "band", number, "-17 to 13")?;
    accept(
        (1..=24).contains(&count),
        "lines_per_band",
        count,
        "a whole number from 1 to 24",
    )?;
    let places = (0..count).map(|line| (f64::from(line) + 0.5) / f64::from(count) - 0.5);
    if count > MOST_CHAINED {
        let middle = f64::from(number) / 10.0;
        return Ok(places
            .map(|place| 1000.0 * 10f64.powf(middle + place / 10.0))
            .collect());
    }
    let octave = number.div_euclid(3);
    let third = f64::from(number.rem_euclid(3));
    Ok(places
        // Scaling by a whole power of two is exact.
        .map(|place| 1000.0 * ((third + place) / 3.0).exp2() * 2f64.powi(octave))
        .collect())
}

/// Frequency weighting of sound level meters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weighting {
    /// A.
    A,
    /// C.
    C,
    /// None.
    Z,
}

/// The weightings' poles f₁ … f₄ in the standard's order, IEC 61672-1:2013, annex E, which derives
/// them from C being 3 dB down at 10^1.5 and 10^3.9 Hz and A's further corner at 10^2.45 Hz.
const POLES_HZ: [f64; 4] = [20.598_997, 107.652_65, 737.862_23, 12_194.217];

impl Weighting {
    /// The one of that letter.
    ///
    /// # Errors
    /// Another letter.
    pub fn named(name: &str) -> Result<Self> {
        match name {
            "A" => Ok(Self::A),
            "C" => Ok(Self::C),
            "Z" => Ok(Self::Z),
            _ => Err(InputError::new("weighting", name, "A, C or Z")),
        }
    }

    /// The weighting in dB, 0 at 1 kHz, IEC 61672-1:2013, equations (E.1) and (E.6).
    #[must_use]
    pub fn db(self, frequency_hz: f64) -> f64 {
        let gain = |f: f64| -> f64 {
            let square = f * f;
            let over = |pole: f64| square / (square + pole * pole);
            let high = POLES_HZ[3].powi(2) / (square + POLES_HZ[3].powi(2));
            match self {
                Self::A => {
                    over(POLES_HZ[0]) * (over(POLES_HZ[1]) * over(POLES_HZ[2])).sqrt() * high
                }
                Self::C => over(POLES_HZ[0]) * high,
                Self::Z => 1.0,
            }
        };
        20.0 * (gain(frequency_hz) / gain(1000.0)).log10()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_lies_inside_its_band() {
        for number in RANGE {
            let [low, high] = edges_hz(number);
            for count in 1..=24 {
                let lines = lines_hz(number, count).unwrap();
                assert_eq!(lines.len(), count as usize);
                assert!(lines.iter().all(|line| (low..high).contains(line)));
                assert!(lines.windows(2).all(|pair| pair[0] < pair[1]));
            }
        }
    }

    #[test]
    fn a_line_three_bands_up_is_exactly_twice_as_high() {
        for number in -17..=10 {
            let low = lines_hz(number, 5).unwrap();
            let high = lines_hz(number + 3, 5).unwrap();
            assert!(low.iter().zip(&high).all(|(l, h)| 2.0 * l == *h));
        }
    }

    #[test]
    fn the_level_of_a_comb_converges_to_that_of_the_whole_band() {
        // |1 + e^{−jωτ}|² = 2 + 2 cos ωτ, its mean over ln f worked out with 20,000 lines.
        let energy = |f: f64| 2.0 + 2.0 * (2.0 * std::f64::consts::PI * f * 2.3e-3).cos();
        let [low, high] = edges_hz(4).map(f64::ln);
        let fine = (0..20_000).map(|i| (low + (high - low) * (f64::from(i) + 0.5) / 2e4).exp());
        let whole = fine.map(energy).sum::<f64>() / 2e4;
        let off_db = |count: u32| {
            let lines = lines_hz(4, count).unwrap();
            let mean = lines.iter().map(|&f| energy(f)).sum::<f64>() / f64::from(count);
            (10.0 * (mean / whole).log10()).abs()
        };
        assert!(off_db(24) < 0.01, "{}", off_db(24));
        assert!(off_db(12) < 0.05, "{}", off_db(12));
    }

    #[test]
    fn a_band_beyond_20_khz_is_refused() {
        assert_eq!(lines_hz(14, 5).unwrap_err().field, "band");
        assert_eq!(lines_hz(0, 0).unwrap_err().field, "lines_per_band");
    }
}
