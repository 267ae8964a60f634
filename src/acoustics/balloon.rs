//! A measured cabinet in the room.
//!
//! p = D(f, az, el) e^{−jkd}/d · 10^{−α d/20}, d from the middle of the cabinet's front face, which
//! the measurement's phase must refer to, and D between the measured points as
//! [`Balloon`] has it. Being a far field, it says nothing about distances
//! comparable with the cabinet's height.

use super::lines::Lines;
use crate::model::{Balloon, Line};
use nalgebra::Complex;
use std::f64::consts::PI;
use std::sync::Arc;

/// A measured cabinet in the room.
#[derive(Clone, Debug)]
pub(super) struct Measured {
    pub balloon: Arc<Balloon>,
    pub middle_m: [f64; 3],
    /// Unit vectors ahead, to the left and up.
    pub axes: [[f64; 3]; 3],
    pub weight: f64,
    pub delay_s: f64,
    /// Complex weight at each line; empty where all are 1.
    pub drive: Vec<Complex<f64>>,
}

impl Measured {
    /// Gives `put` the pressure at a point, line by line; `of_lines` is the balloon's own of `lines`.
    pub fn pressure(
        &self,
        point_m: [f64; 3],
        lines: &Lines,
        of_lines: &[Line],
        mut put: impl FnMut(usize, Complex<f64>),
    ) {
        let ray = [0, 1, 2].map(|axis| point_m[axis] - self.middle_m[axis]);
        let along = self
            .axes
            .map(|axis| ray.iter().zip(axis).map(|(a, b)| a * b).sum::<f64>());
        let distance_m = ray.iter().map(|part| part * part).sum::<f64>().sqrt();
        let azimuth_deg = along[1].atan2(along[0]).to_degrees();
        let elevation_deg = (along[2] / distance_m).clamp(-1.0, 1.0).asin().to_degrees();
        let run_s = distance_m / lines.sound_speed_m_s() + self.delay_s;
        let size = self.weight / distance_m;
        self.balloon.towards(
            azimuth_deg,
            elevation_deg,
            of_lines,
            |line, response, turn_s| {
                let turns = of_lines[line].frequency_hz() * (run_s + turn_s);
                let size = size * (-lines.decay_per_m[line] * distance_m).exp();
                let drive = self.drive.get(line).copied().unwrap_or(Complex::ONE);
                put(
                    line,
                    response * drive * Complex::from_polar(size, -2.0 * PI * turns),
                );
            },
        );
    }
}
