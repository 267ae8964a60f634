//! How well is a balloon known between its points? Every second one is left out and worked out from
//! the others.
//!
//! The steps are then twice as wide as they are, so what is found bounds from above what the balloon
//! itself is off by, as long as halving the steps makes the error no larger.

use super::delay::Delays;
use super::directivity::Balloon;
use super::measured::Measured;
use std::f64::consts::PI;

/// Along what every second value is left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// Every second line.
    Frequency,
    /// Every second azimuth.
    Azimuth,
    /// Every second elevation.
    Elevation,
}

/// What the values left out differ by, of those less than 20 dB under their line's loudest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeftOut {
    /// Along what.
    pub axis: Axis,
    /// Number of values compared.
    pub count: usize,
    /// Root mean square and greatest difference of level.
    pub level_db: [f64; 2],
    /// Root mean square and greatest difference of phase.
    pub phase_deg: [f64; 2],
}

impl Axis {
    /// In plain words.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Frequency => "frequency",
            Self::Azimuth => "azimuth",
            Self::Elevation => "elevation",
        }
    }
}

impl Balloon {
    /// The error along each axis that has at least three values.
    #[must_use]
    pub fn left_out(&self) -> Vec<LeftOut> {
        let measured = &self.measured;
        [
            (Axis::Frequency, measured.frequency_hz.len()),
            (Axis::Elevation, measured.elevation_deg.len()),
            (Axis::Azimuth, measured.azimuth_deg.len()),
        ]
        .into_iter()
        .filter(|(_, count)| *count >= 3)
        .map(|(axis, _)| self.without_every_second(axis))
        .collect()
    }

    fn without_every_second(&self, axis: Axis) -> LeftOut {
        let all = &self.measured;
        let kept = all.every_second(axis);
        let delays = Delays::of(&kept);
        let coarse = Self::prepared(kept, &delays);
        let lines = coarse.at(&all.frequency_hz);
        let loud_from = all.loud_from();
        let (mut count, mut level_db, mut phase_deg) = (0, [0.0; 2], [0.0; 2]);
        for direction in 0..all.directions() {
            let columns = all.azimuth_deg.len();
            let [row, column] = [direction / columns, direction % columns];
            let [azimuth, elevation] = all.direction_deg(direction);
            coarse.towards(azimuth, elevation, &lines, |line, value, turn_s| {
                let left_out = match axis {
                    Axis::Frequency => line % 2 == 1,
                    Axis::Azimuth => column % 2 == 1,
                    Axis::Elevation => row % 2 == 1,
                };
                let given = all.line(line)[direction];
                if !left_out || given.norm() < loud_from[line] {
                    return;
                }
                let turn_rad = -2.0 * PI * all.frequency_hz[line] * turn_s;
                let ratio = value * nalgebra::Complex::from_polar(1.0, turn_rad) / given;
                count += 1;
                let off_db = 20.0 * ratio.norm().log10().abs();
                let off_deg = ratio.arg().to_degrees().abs();
                for (sums, off) in [(&mut level_db, off_db), (&mut phase_deg, off_deg)] {
                    sums[0] += off * off;
                    sums[1] = f64::max(sums[1], off);
                }
            });
        }
        for sums in [&mut level_db, &mut phase_deg] {
            sums[0] = (sums[0] / f64::from(count.max(1))).sqrt();
        }
        LeftOut {
            axis,
            count: count as usize,
            level_db,
            phase_deg,
        }
    }
}

impl Measured {
    fn every_second(&self, axis: Axis) -> Self {
        let keep = |of: Axis, values: &[f64]| -> Vec<usize> {
            let step = if of == axis { 2 } else { 1 };
            (0..values.len()).step_by(step).collect()
        };
        let lines = keep(Axis::Frequency, &self.frequency_hz);
        let rows = keep(Axis::Elevation, &self.elevation_deg);
        let columns = keep(Axis::Azimuth, &self.azimuth_deg);
        let of = |values: &[f64], kept: &[usize]| kept.iter().map(|&at| values[at]).collect();
        let mut response = Vec::with_capacity(lines.len() * rows.len() * columns.len());
        for &line in &lines {
            for &row in &rows {
                let start = row * self.azimuth_deg.len();
                let values = &self.line(line)[start..];
                response.extend(columns.iter().map(|&column| values[column]));
            }
        }
        Self {
            frequency_hz: of(&self.frequency_hz, &lines),
            azimuth_deg: of(&self.azimuth_deg, &columns),
            elevation_deg: of(&self.elevation_deg, &rows),
            response,
        }
    }
}
