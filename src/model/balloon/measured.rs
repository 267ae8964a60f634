//! The values of a measurement on its grid, as they were given.

use crate::error::{InputError, Result, accept, each, finite, positive, within_range};
use nalgebra::Complex;
use std::f64::consts::LN_10;

/// Directions so far below the loudest of a line are not asked for the accuracy of the louder ones.
const LOUD_DB: f64 = 20.0;

/// Far above sound, of models to a scale as well. The delay is searched in steps that lines far apart
/// make small: without a bound there are more than a machine has memory for.
const HIGHEST_HZ: f64 = 1e6;

/// The values on the grid, as they were given.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Measured {
    pub frequency_hz: Vec<f64>,
    pub azimuth_deg: Vec<f64>,
    pub elevation_deg: Vec<f64>,
    /// Frequency by frequency, elevation by elevation, over azimuth.
    pub response: Vec<Complex<f64>>,
}

/// Unit vector ahead, to the left and up of an azimuth and elevation.
pub(super) fn unit([azimuth_deg, elevation_deg]: [f64; 2]) -> [f64; 3] {
    let (sin, cos) = azimuth_deg.to_radians().sin_cos();
    let (up, level) = elevation_deg.to_radians().sin_cos();
    [cos * level, sin * level, up]
}

impl Measured {
    pub(super) fn check(&self) -> Result<()> {
        each("frequency_hz", &self.frequency_hz, |field, value| {
            positive(field, value)?;
            accept(value <= HIGHEST_HZ, field, value, "at most 1e6")
        })?;
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
    pub(super) fn directions(&self) -> usize {
        self.azimuth_deg.len() * self.elevation_deg.len()
    }

    /// Azimuth and elevation of a direction.
    pub(super) fn direction_deg(&self, direction: usize) -> [f64; 2] {
        let columns = self.azimuth_deg.len();
        [
            self.azimuth_deg[direction % columns],
            self.elevation_deg[direction / columns],
        ]
    }

    /// Share of the sphere that each direction stands for, but for a factor.
    pub(super) fn weights(&self) -> Vec<f64> {
        // At a pole one direction stands for as much as a ring a quarter of a degree off.
        const POLE: f64 = 0.005;
        (0..self.directions())
            .map(|direction| {
                let [_, elevation_deg] = self.direction_deg(direction);
                elevation_deg.to_radians().cos().max(POLE)
            })
            .collect()
    }

    pub(super) fn line(&self, line: usize) -> &[Complex<f64>] {
        let directions = self.directions();
        &self.response[line * directions..(line + 1) * directions]
    }

    /// Root of the mean square of each line over the directions.
    pub(super) fn line_levels(&self) -> Vec<f64> {
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
    pub(super) fn loud_from(&self) -> Vec<f64> {
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
