//! A balloon, and what it radiates between its points.

use super::delay::Delays;
use super::grid::Grid;
use super::measured::{Measured, unit};
use super::stencil::Stencil;
use crate::error::{Result, finite, positive};
use crate::model::Check;
use nalgebra::Complex;
use std::f64::consts::PI;
use std::fmt;

/// Directivity on a grid of directions: relative pressure times distance, 1 for a cabinet of 0 dB.
#[derive(Clone)]
pub struct Balloon {
    pub(super) measured: Measured,
    delay_s: f64,
    centre_s: [f64; 3],
    ln_frequency: Vec<f64>,
    ln_level: Vec<f64>,
    grid: Grid,
}

impl fmt::Debug for Balloon {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let lines = self.measured.frequency_hz.len();
        write!(
            f,
            "Balloon({lines} lines, {} directions)",
            self.measured.directions()
        )
    }
}

impl PartialEq for Balloon {
    fn eq(&self, other: &Self) -> bool {
        self.measured == other.measured
    }
}

impl Check for Balloon {
    /// A balloon that exists has been checked.
    fn check(&self) -> Result<()> {
        Ok(())
    }
}

impl Balloon {
    /// Checks and keeps a measurement whose phase refers to the middle of the cabinet's front face.
    /// Azimuths rise from −180 to at most 180° or from 0 to at most 360°, elevations within ±90°.
    ///
    /// # Errors
    /// A grid that does not rise, a value out of range or not finite, the wrong number of them, or
    /// a delay that turns the phase by more than half a turn between neighbours less than 20 dB
    /// under their line's loudest.
    pub fn new(
        frequency_hz: Vec<f64>,
        azimuth_deg: Vec<f64>,
        elevation_deg: Vec<f64>,
        response: Vec<Complex<f64>>,
    ) -> Result<Self> {
        let measured = Measured {
            frequency_hz,
            azimuth_deg,
            elevation_deg,
            response,
        };
        measured.check()?;
        let delays = Delays::of(&measured);
        delays.check_steps(&measured)?;
        Ok(Self::prepared(measured, &delays))
    }

    /// A measurement at a distance, brought to 1 m: times the distance, and with a delay taken out
    /// of its phase. That delay is the one that all directions share, unless it is stated.
    ///
    /// # Errors
    /// As [`Balloon::new`]; a distance that is not above 0.
    pub fn measured_at(
        distance_m: f64,
        delay_s: Option<f64>,
        frequency_hz: Vec<f64>,
        azimuth_deg: Vec<f64>,
        elevation_deg: Vec<f64>,
        pressure: Vec<Complex<f64>>,
    ) -> Result<(Self, f64)> {
        positive("distance_m", distance_m)?;
        let mut measured = Measured {
            frequency_hz,
            azimuth_deg,
            elevation_deg,
            response: pressure,
        };
        measured.check()?;
        let delays = Delays::of(&measured);
        delays.check_steps(&measured)?;
        let taken_s = match delay_s {
            Some(delay_s) => finite("delay_s", delay_s)?,
            None => delays.common_s,
        };
        let directions = measured.directions();
        let lines = measured.response.chunks_mut(directions);
        for (line, &f) in lines.zip(&measured.frequency_hz) {
            let turn = Complex::from_polar(distance_m, 2.0 * PI * f * taken_s);
            line.iter_mut().for_each(|value| *value *= turn);
        }
        let left = delays.less(taken_s);
        Ok((Self::prepared(measured, &left), taken_s))
    }

    pub(super) fn prepared(measured: Measured, delays: &Delays) -> Self {
        let ln = |values: &[f64]| values.iter().map(|value| value.ln()).collect::<Vec<f64>>();
        let level = measured.line_levels();
        let grid = Grid::of(&measured, |line, direction| {
            let f = measured.frequency_hz[line];
            let turn_s = delays.common_s - advance_s(delays.centre_s, direction);
            Complex::from_polar(1.0 / level[line], 2.0 * PI * f * turn_s)
        });
        Self {
            ln_frequency: ln(&measured.frequency_hz),
            ln_level: ln(&level),
            delay_s: delays.common_s,
            centre_s: delays.centre_s,
            grid,
            measured,
        }
    }

    /// The same, louder by `gain_db`.
    #[must_use]
    pub fn with_gain_db(&self, gain_db: f64) -> Self {
        let gain = 10f64.powf(gain_db / 20.0);
        let mut louder = self.clone();
        louder
            .measured
            .response
            .iter_mut()
            .for_each(|value| *value *= gain);
        louder
            .ln_level
            .iter_mut()
            .for_each(|level| *level += gain.ln());
        louder
    }

    /// The delay that all directions share.
    #[must_use]
    pub fn delay_s(&self) -> f64 {
        self.delay_s
    }

    /// The response as it was given, frequency by frequency, elevation by elevation, over azimuth.
    #[must_use]
    pub fn response(&self) -> &[Complex<f64>] {
        &self.measured.response
    }

    /// What is needed of some frequencies, the same for all directions.
    #[must_use]
    pub fn at(&self, frequency_hz: &[f64]) -> Vec<Line> {
        frequency_hz
            .iter()
            .map(|&f| {
                let stencil = Stencil::of(&self.ln_frequency, f.ln());
                let ln_level = stencil.sum(|line| self.ln_level[line]);
                Line {
                    frequency_hz: f,
                    stencil,
                    level: ln_level.exp(),
                }
            })
            .collect()
    }

    /// The response in a direction at each of `lines`, but for a turn of phase by its frequency
    /// times the delay, which `put` gets as well.
    pub fn towards(
        &self,
        azimuth_deg: f64,
        elevation_deg: f64,
        lines: &[Line],
        mut put: impl FnMut(usize, Complex<f64>, f64),
    ) {
        let [re, im] = self.grid.towards(azimuth_deg, elevation_deg);
        let turn_s = self.delay_s - advance_s(self.centre_s, [azimuth_deg, elevation_deg]);
        for (index, line) in lines.iter().enumerate() {
            let sum = |values: &[f64]| line.level * line.stencil.sum(|node| values[node]);
            put(index, Complex::new(sum(&re), sum(&im)), turn_s);
        }
    }

    /// The response in a direction at each of `frequency_hz`.
    #[must_use]
    pub fn response_towards(
        &self,
        azimuth_deg: f64,
        elevation_deg: f64,
        frequency_hz: &[f64],
    ) -> Vec<Complex<f64>> {
        let mut out = Vec::with_capacity(frequency_hz.len());
        let lines = self.at(frequency_hz);
        self.towards(azimuth_deg, elevation_deg, &lines, |line, value, turn_s| {
            let turn_rad = -2.0 * PI * frequency_hz[line] * turn_s;
            out.push(value * Complex::from_polar(1.0, turn_rad));
        });
        out
    }
}

/// A frequency, and how the balloon's lines make up what is there.
#[derive(Clone, Debug)]
pub struct Line {
    frequency_hz: f64,
    stencil: Stencil,
    level: f64,
}

impl Line {
    /// The frequency.
    #[must_use]
    pub fn frequency_hz(&self) -> f64 {
        self.frequency_hz
    }
}

/// By how much sound from a centre so far ahead in time comes early in a direction.
fn advance_s(centre_s: [f64; 3], direction_deg: [f64; 2]) -> f64 {
    let unit = unit(direction_deg);
    centre_s.iter().zip(unit).map(|(a, b)| a * b).sum()
}
