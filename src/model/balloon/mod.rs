//! What does a measured cabinet radiate in any direction, at any frequency?
//!
//! D(f, û), the far-field pressure times distance, is known on a grid. Between its points
//!
//! D = L(f) · R(f, û) · e^{−j2πf(τ − **a**·û)}
//!
//! | name | meaning | between the points |
//! |---|---|---|
//! | τ | delay that all directions share | exact |
//! | **a** | advance of the acoustic centre, in seconds | exact |
//! | L | level of the line, root of the mean square over the sphere | its logarithm over ln f |
//! | R | what remains, whose phase turns slowly | as complex numbers |
//!
//! by polynomials through up to six points a direction of the grid ([`stencil`]). So a delay left in
//! makes no holes, the phase is that of the unwrapped one, and a null, where the level of a pressure
//! that changes sign has no bottom, is passed through. Elevations go on beyond the poles and azimuths
//! beyond the full turn. Below the lowest and above the highest frequency, and beyond the end
//! elevations, the nearest value is kept.
//!
//! τ and **a** come from the phases' steps from line to line ([`delay`]).
//!
//! Axes as in AES69-2022: azimuth about z, positive to the left; elevation up; (0, 0) ahead.

mod delay;
mod grid;
mod left_out;
mod stencil;
mod written;

pub use left_out::{Axis, LeftOut};
pub(super) use written::{shared, write};

use super::Check;
use crate::error::{InputError, Result, accept, each, finite, positive, within_range};
use grid::Grid;
use nalgebra::Complex;
use serde::{Deserialize, Serialize};
use std::f64::consts::{LN_10, PI};
use std::fmt;
use stencil::Stencil;
use written::Written;

/// Directions so far below the loudest of a line are not asked for the accuracy of the louder ones.
const LOUD_DB: f64 = 20.0;

/// Directivity on a grid of directions: relative pressure times distance, 1 for a cabinet of 0 dB.
#[derive(Clone, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct Balloon {
    measured: Measured,
    delay_s: f64,
    centre_s: [f64; 3],
    ln_frequency: Vec<f64>,
    ln_level: Vec<f64>,
    grid: Grid,
}

/// The values on the grid, as they were given.
#[derive(Clone, Debug, PartialEq)]
struct Measured {
    frequency_hz: Vec<f64>,
    azimuth_deg: Vec<f64>,
    elevation_deg: Vec<f64>,
    /// Frequency by frequency, elevation by elevation, over azimuth.
    response: Vec<Complex<f64>>,
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
        let delays = delay::Delays::of(&measured);
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
        let delays = delay::Delays::of(&measured);
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

    fn prepared(measured: Measured, delays: &delay::Delays) -> Self {
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

/// Unit vector ahead, to the left and up of an azimuth and elevation.
fn unit([azimuth_deg, elevation_deg]: [f64; 2]) -> [f64; 3] {
    let (sin, cos) = azimuth_deg.to_radians().sin_cos();
    let (up, level) = elevation_deg.to_radians().sin_cos();
    [cos * level, sin * level, up]
}

impl Measured {
    fn check(&self) -> Result<()> {
        each("frequency_hz", &self.frequency_hz, positive)?;
        each("azimuth_deg", &self.azimuth_deg, |field, value| {
            within_range(field, value, -180.0, 360.0)
        })?;
        each("elevation_deg", &self.elevation_deg, |field, value| {
            within_range(field, value, -90.0, 90.0)
        })?;
        check_rising("frequency_hz", &self.frequency_hz)?;
        check_rising("azimuth_deg", &self.azimuth_deg)?;
        check_rising("elevation_deg", &self.elevation_deg)?;
        let span = self.azimuth_deg[self.azimuth_deg.len() - 1] - self.azimuth_deg[0];
        accept(span <= 360.0, "azimuth_deg", span, "a span of at most 360")?;
        let wanted = self.frequency_hz.len() * self.directions();
        accept(
            self.response.len() == wanted,
            "response",
            self.response.len(),
            format!("{wanted} values, one for each frequency and direction"),
        )?;
        for (index, value) in self.response.iter().enumerate() {
            finite(&format!("response[{index}]"), value.re + value.im)?;
        }
        for (index, level) in self.line_levels().iter().enumerate() {
            positive(&format!("response[{index}]"), *level).map_err(|error| InputError {
                allowed: "some sound in some direction".to_owned(),
                ..error
            })?;
        }
        Ok(())
    }

    /// Number of directions.
    fn directions(&self) -> usize {
        self.azimuth_deg.len() * self.elevation_deg.len()
    }

    /// Azimuth and elevation of a direction.
    fn direction_deg(&self, direction: usize) -> [f64; 2] {
        let columns = self.azimuth_deg.len();
        [
            self.azimuth_deg[direction % columns],
            self.elevation_deg[direction / columns],
        ]
    }

    /// Share of the sphere that each direction stands for, but for a factor.
    fn weights(&self) -> Vec<f64> {
        // At a pole one direction stands for as much as a ring a quarter of a degree off.
        const POLE: f64 = 0.005;
        (0..self.directions())
            .map(|direction| {
                let [_, elevation_deg] = self.direction_deg(direction);
                elevation_deg.to_radians().cos().max(POLE)
            })
            .collect()
    }

    fn line(&self, line: usize) -> &[Complex<f64>] {
        let directions = self.directions();
        &self.response[line * directions..(line + 1) * directions]
    }

    /// Root of the mean square of each line over the directions.
    fn line_levels(&self) -> Vec<f64> {
        let weights = self.weights();
        let all: f64 = weights.iter().sum();
        (0..self.frequency_hz.len())
            .map(|line| {
                let values = self.line(line).iter().zip(&weights);
                let sum: f64 = values.map(|(value, w)| w * value.norm_sqr()).sum();
                (sum / all).sqrt()
            })
            .collect()
    }

    /// The least size of a value that counts as loud on each line.
    fn loud_from(&self) -> Vec<f64> {
        let share = (-LOUD_DB / 20.0 * LN_10).exp();
        (0..self.frequency_hz.len())
            .map(|line| {
                let sizes = self.line(line).iter().map(|value| value.norm());
                share * sizes.fold(0.0, f64::max)
            })
            .collect()
    }
}

fn check_rising(field: &str, grid: &[f64]) -> Result<()> {
    if grid.is_empty() {
        return Err(InputError::new(field, "[]", "at least one value"));
    }
    for (index, pair) in grid.windows(2).enumerate() {
        let name = format!("{field}[{}]", index + 1);
        accept(pair[1] > pair[0], &name, pair[1], "a rising grid")?;
    }
    Ok(())
}

#[cfg(test)]
mod tests;
