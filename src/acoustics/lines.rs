//! The frequencies at which the field is calculated.

use super::field::polynomials::{SERIES, decay_series};
use crate::acoustics::{air, bands};
use crate::error::{Result, each, positive, within_range};
use crate::model::{Air, Valid};
use std::f64::consts::LN_10;
use std::ops::Range;

/// Frequencies worked out in one go at most, each an octave above the one before. Doubling an angle
/// makes the error of its cosine up to four times as large, so longer runs would lose accuracy.
pub(in crate::acoustics) const LONGEST_CHAIN: usize = 6;

/// Highest ratio of frequency to pressure for which ISO 9613-1 states its absorption, in Hz/kPa.
const HIGHEST_HZ_PER_KPA: f64 = 10_000.0;

/// Frequencies with what the air does to them.
#[derive(Clone, Debug)]
pub struct Lines {
    frequency_hz: Vec<f64>,
    bands: Vec<Band>,
    sound_speed_m_s: f64,
    pub(in crate::acoustics) half_turns_per_m: Vec<f64>,
    pub(in crate::acoustics) decay_per_m: Vec<f64>,
    pub(in crate::acoustics) decay_series: Vec<[f64; SERIES]>,
    pub(in crate::acoustics) chains: Vec<Vec<usize>>,
}

/// A third octave and its lines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Band {
    /// Band number, 0 at 1 kHz ([`bands`]).
    pub number: i32,
    /// Its lines' places among all lines.
    pub lines: Range<usize>,
}

impl Lines {
    /// Any frequencies, in any order; they belong to no band.
    ///
    /// # Errors
    /// A frequency that is not above 0, or above 10 Hz/Pa times the pressure (beyond the range of
    /// ISO 9613-1).
    pub fn of_frequencies(frequency_hz: &[f64], air: &Valid<Air>) -> Result<Self> {
        let highest_hz = HIGHEST_HZ_PER_KPA * air.pressure_kpa;
        each("frequency_hz", frequency_hz, |field, value| {
            positive(field, value)?;
            within_range(field, value, 0.0, highest_hz)
        })?;
        Ok(Self::new(frequency_hz.to_vec(), Vec::new(), air))
    }

    /// `lines_per_band` frequencies in each of the third octaves `numbers`.
    ///
    /// # Errors
    /// As [`bands::lines_hz`].
    pub fn of_bands(numbers: &[i32], lines_per_band: u32, air: &Valid<Air>) -> Result<Self> {
        let mut frequency_hz = Vec::new();
        let mut bands = Vec::new();
        for &number in numbers {
            let start = frequency_hz.len();
            frequency_hz.extend(bands::lines_hz(number, lines_per_band)?);
            let lines = start..frequency_hz.len();
            bands.push(Band { number, lines });
        }
        Ok(Self::new(frequency_hz, bands, air))
    }

    fn new(frequency_hz: Vec<f64>, bands: Vec<Band>, air: &Valid<Air>) -> Self {
        let sound_speed_m_s = air::sound_speed_m_s(air);
        let absorption = air::Absorption::of(air);
        let decay_per_m: Vec<f64> = frequency_hz
            .iter()
            .map(|&f| absorption.db_per_m(f) * LN_10 / 20.0)
            .collect();
        Self {
            half_turns_per_m: frequency_hz
                .iter()
                .map(|f| 2.0 * f / sound_speed_m_s)
                .collect(),
            decay_series: decay_per_m
                .iter()
                .map(|&alpha| decay_series(alpha))
                .collect(),
            decay_per_m,
            chains: chains(&frequency_hz),
            frequency_hz,
            bands,
            sound_speed_m_s,
        }
    }

    /// The frequencies, in the order they were given.
    #[must_use]
    pub fn frequency_hz(&self) -> &[f64] {
        &self.frequency_hz
    }

    /// The third octaves; none for plain frequencies.
    #[must_use]
    pub fn bands(&self) -> &[Band] {
        &self.bands
    }

    /// Number of frequencies.
    #[must_use]
    pub fn len(&self) -> usize {
        self.frequency_hz.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.frequency_hz.is_empty()
    }

    /// Speed of sound in the air the lines were made for.
    #[must_use]
    pub fn sound_speed_m_s(&self) -> f64 {
        self.sound_speed_m_s
    }

    /// The air's greatest absorption at any of them, in nepers a metre.
    pub(in crate::acoustics) fn greatest_decay_per_m(&self) -> f64 {
        self.decay_per_m.iter().copied().fold(0.0, f64::max)
    }

    /// Highest frequency; 0 when there are none.
    #[must_use]
    pub fn highest_hz(&self) -> f64 {
        self.frequency_hz.iter().copied().fold(0.0, f64::max)
    }
}

/// Runs of lines of which each is exactly twice the one before, lowest first.
fn chains(frequency_hz: &[f64]) -> Vec<Vec<usize>> {
    let mut rising: Vec<usize> = (0..frequency_hz.len()).collect();
    rising.sort_by(|&a, &b| frequency_hz[a].total_cmp(&frequency_hz[b]));
    let mut taken = vec![false; rising.len()];
    let mut chains = Vec::new();
    for lowest in 0..rising.len() {
        if taken[lowest] {
            continue;
        }
        let mut chain = Vec::with_capacity(LONGEST_CHAIN);
        let mut next = Some(lowest);
        while let Some(place) = next {
            taken[place] = true;
            chain.push(rising[place]);
            if chain.len() == LONGEST_CHAIN {
                break;
            }
            let wanted_hz = 2.0 * frequency_hz[rising[place]];
            let from = rising.partition_point(|&line| frequency_hz[line] < wanted_hz);
            next = (from..rising.len())
                .take_while(|&place| frequency_hz[rising[place]] == wanted_hz)
                .find(|&place| !taken[place]);
        }
        chains.push(chain);
    }
    chains
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn octaves_are_chained_and_every_line_is_taken_once() {
        assert_eq!(
            chains(&[4000.0, 1000.0, 700.0, 2000.0, 1000.0]),
            [vec![2], vec![1, 3, 0], vec![4]]
        );
        let air = Valid::new(Air::default()).unwrap();
        let lines = Lines::of_bands(&bands::EVENNESS, 5, &air).unwrap();
        assert_eq!(lines.chains.len(), 15);
        assert_eq!(lines.chains.iter().map(Vec::len).sum::<usize>(), 50);
    }

    #[test]
    fn frequencies_beyond_the_standards_range_are_refused_by_place() {
        let air = Valid::new(Air::default()).unwrap();
        for bad in [0.0, -1.0, f64::NAN, 2e6] {
            let error = Lines::of_frequencies(&[1000.0, bad], &air).unwrap_err();
            assert_eq!(error.field, "frequency_hz[1]");
        }
    }
}
