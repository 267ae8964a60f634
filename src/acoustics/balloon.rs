//! Cabinets as measured: complex far-field directivity over azimuth, elevation and frequency.
//!
//! p = D(f, az, el) e^{−jkd}/d · 10^{−α d/20}, d from the middle of the cabinet's front face, which
//! the measurement's phase must refer to. Between the measured directions and frequencies the
//! complex values are interpolated linearly, so the steps must be small against the turns of
//! phase. Below the lowest and above the highest frequency, and beyond the end elevations, the
//! nearest value is kept. Being a far field, it says nothing about distances comparable with the
//! cabinet's height.
//!
//! Axes as in AES69-2022: azimuth about z, positive to the left; elevation up; (0, 0) ahead.

use crate::error::{InputError, Result, accept, each, finite, positive, within_range};
use nalgebra::Complex;
use std::f64::consts::PI;

/// Directivity on a grid of directions: relative pressure times distance, 1 for a cabinet of 0 dB.
#[derive(Clone, Debug)]
pub struct Balloon {
    frequency_hz: Vec<f64>,
    azimuth_deg: Vec<f64>,
    elevation_deg: Vec<f64>,
    /// Frequency by frequency, elevation by elevation, over azimuth.
    response: Vec<Complex<f64>>,
}

/// A place between two grid values: the lower index, the upper one, and the share of the upper.
#[derive(Clone, Copy)]
struct Between {
    lower: usize,
    upper: usize,
    share: f64,
}

fn between(grid: &[f64], value: f64) -> Between {
    let upper = grid.partition_point(|&at| at <= value).min(grid.len() - 1);
    let lower = upper.saturating_sub(1);
    let step = grid[upper] - grid[lower];
    let share = if step > 0.0 {
        ((value - grid[lower]) / step).clamp(0.0, 1.0)
    } else {
        0.0
    };
    Between {
        lower,
        upper,
        share,
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

impl Balloon {
    /// Checks and keeps a measurement. Azimuths rise from −180 to at most 180° or from 0 to at
    /// most 360°, elevations within ±90°.
    ///
    /// # Errors
    /// A grid that does not rise, a value out of range or not finite, or the wrong number of them.
    pub fn new(
        frequency_hz: Vec<f64>,
        azimuth_deg: Vec<f64>,
        elevation_deg: Vec<f64>,
        response: Vec<Complex<f64>>,
    ) -> Result<Self> {
        each("frequency_hz", &frequency_hz, positive)?;
        each("azimuth_deg", &azimuth_deg, |field, value| {
            within_range(field, value, -180.0, 360.0)
        })?;
        each("elevation_deg", &elevation_deg, |field, value| {
            within_range(field, value, -90.0, 90.0)
        })?;
        check_rising("frequency_hz", &frequency_hz)?;
        check_rising("azimuth_deg", &azimuth_deg)?;
        check_rising("elevation_deg", &elevation_deg)?;
        let span = azimuth_deg[azimuth_deg.len() - 1] - azimuth_deg[0];
        accept(span <= 360.0, "azimuth_deg", span, "a span of at most 360")?;
        let wanted = frequency_hz.len() * azimuth_deg.len() * elevation_deg.len();
        accept(
            response.len() == wanted,
            "response",
            response.len(),
            format!("{wanted} values, one for each frequency and direction"),
        )?;
        for (index, value) in response.iter().enumerate() {
            finite(&format!("response[{index}]"), value.re + value.im)?;
        }
        Ok(Self {
            frequency_hz,
            azimuth_deg,
            elevation_deg,
            response,
        })
    }

    /// Where an azimuth in (−180, 180] lies; a grid that leaves out the turn's end closes on itself.
    fn between_azimuths(&self, azimuth_deg: f64) -> Between {
        let grid = &self.azimuth_deg;
        let (first, last) = (grid[0], grid[grid.len() - 1]);
        let value = first + (azimuth_deg - first).rem_euclid(360.0);
        if value <= last || last - first >= 360.0 {
            return between(grid, value);
        }
        Between {
            lower: grid.len() - 1,
            upper: 0,
            share: (value - last) / (first + 360.0 - last),
        }
    }

    /// The response in a direction at each of `frequency_hz`.
    pub fn towards<'a>(
        &'a self,
        azimuth_deg: f64,
        elevation_deg: f64,
        frequency_hz: &'a [f64],
    ) -> impl Iterator<Item = Complex<f64>> + 'a {
        let azimuth = self.between_azimuths(azimuth_deg);
        let elevation = between(&self.elevation_deg, elevation_deg);
        let (rows, columns) = (self.elevation_deg.len(), self.azimuth_deg.len());
        let mix = |place: Between, lower: Complex<f64>, upper: Complex<f64>| {
            lower * (1.0 - place.share) + upper * place.share
        };
        frequency_hz.iter().map(move |&f| {
            let line = between(&self.frequency_hz, f);
            let at = |line: usize| {
                let row = |row: usize| {
                    let start = (line * rows + row) * columns;
                    let lower = self.response[start + azimuth.lower];
                    mix(azimuth, lower, self.response[start + azimuth.upper])
                };
                mix(elevation, row(elevation.lower), row(elevation.upper))
            };
            mix(line, at(line.lower), at(line.upper))
        })
    }
}

/// A measured cabinet in the room.
#[derive(Clone, Debug)]
pub(super) struct Measured {
    pub balloon: std::sync::Arc<Balloon>,
    pub middle_m: [f64; 3],
    /// Unit vectors ahead, to the left and up.
    pub axes: [[f64; 3]; 3],
    pub weight: f64,
    pub delay_s: f64,
    /// Complex weight at each line; empty where all are 1.
    pub drive: Vec<Complex<f64>>,
}

impl Measured {
    /// Pressure at a point, line by line.
    pub fn pressure<'a>(
        &'a self,
        point_m: [f64; 3],
        frequency_hz: &'a [f64],
        decay_per_m: &'a [f64],
        sound_speed_m_s: f64,
    ) -> impl Iterator<Item = Complex<f64>> + 'a {
        let ray = [0, 1, 2].map(|axis| point_m[axis] - self.middle_m[axis]);
        let along = self
            .axes
            .map(|axis| ray.iter().zip(axis).map(|(a, b)| a * b).sum::<f64>());
        let distance_m = ray.iter().map(|part| part * part).sum::<f64>().sqrt();
        let azimuth_deg = along[1].atan2(along[0]).to_degrees();
        let elevation_deg = (along[2] / distance_m).clamp(-1.0, 1.0).asin().to_degrees();
        self.balloon
            .towards(azimuth_deg, elevation_deg, frequency_hz)
            .enumerate()
            .map(move |(line, response)| {
                let turns = frequency_hz[line] * (distance_m / sound_speed_m_s + self.delay_s);
                let size = self.weight / distance_m * (-decay_per_m[line] * distance_m).exp();
                let drive = self.drive.get(line).copied().unwrap_or(Complex::ONE);
                response * drive * Complex::from_polar(size, -2.0 * PI * turns)
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A response that is bilinear in the angles and in frequency is given back exactly.
    #[test]
    fn a_linear_response_is_interpolated_exactly_and_the_turn_closes() {
        let f = vec![100.0, 200.0, 400.0];
        let azimuth: Vec<f64> = (0..36).map(|i| -180.0 + 10.0 * f64::from(i)).collect();
        let elevation: Vec<f64> = (0..19).map(|i| -90.0 + 10.0 * f64::from(i)).collect();
        let law = |f: f64, az: f64, el: f64| Complex::new(f * (180.0 - az.abs()), el * f);
        let mut response = Vec::new();
        for &f in &f {
            for &el in &elevation {
                response.extend(azimuth.iter().map(|&az| law(f, az, el)));
            }
        }
        let balloon = Balloon::new(f, azimuth, elevation, response).unwrap();
        for (az, el) in [(3.0, 4.0), (-177.0, 88.0), (174.0, -33.0), (180.0, 0.0)] {
            let got: Vec<_> = balloon.towards(az, el, &[150.0, 310.0]).collect();
            assert!((got[0] - law(150.0, az, el)).norm() < 1e-9);
            assert!((got[1] - law(310.0, az, el)).norm() < 1e-9);
        }
    }

    #[test]
    fn a_grid_that_falls_is_refused_by_place() {
        let one = vec![Complex::new(1.0, 0.0); 2];
        let error = Balloon::new(vec![1.0], vec![10.0, 0.0], vec![0.0], one).unwrap_err();
        assert_eq!(error.field, "azimuth_deg[1]");
    }
}
