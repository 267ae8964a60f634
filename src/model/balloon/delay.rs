//! Which delay do the phases of a measurement hold?
//!
//! From line i to i+1 a delay τ turns the phase by −2π Δf τ, so with x_i = Σ_û w D_{i+1} D_i* over
//! the directions and n_i = Σ_û w |D_{i+1} D_i|, τ is where the coherence
//!
//! C(τ) = mean over i of Re(x_i e^{j2πΔf_i τ}) / n_i
//!
//! is greatest: 1 where all phases are those of one delay. It needs no unwrapping, and steps above
//! half a turn do not mislead it as long as the lines' steps differ. Each direction has its own in the
//! same way; over the directions **a** and a constant are fitted to them by least squares.

use super::measured::{Measured, unit};
use crate::error::{InputError, Result};
use nalgebra::{Complex, Matrix4, Vector4};
use std::f64::consts::PI;

/// Delays looked for: that of all directions, sound over 20 m, and that of one against them all.
const LONGEST_S: f64 = 0.06;
const LONGEST_APART_S: f64 = 0.003;

/// Steps of the search, a share of the turn that the widest step of the lines makes.
const PART_OF_A_TURN: f64 = 0.1;

/// Least coherence of a delay that all share, and of one direction's own.
const LEAST_COHERENCE: f64 = 0.5;
const LEAST_OWN_COHERENCE: f64 = 0.8;

/// Coherences so near the greatest are as good: the shorter delay is taken.
const AS_GOOD: f64 = 0.1;

/// Fewer steps of phase tell nothing of one direction.
const FEWEST_STEPS: usize = 6;

/// The greatest turn of phase between neighbours.
const MOST_TURNS: f64 = 0.5;

/// What the phases of a measurement tell.
pub(super) struct Delays {
    /// That all directions share.
    pub common_s: f64,
    /// Advance of the acoustic centre ahead, to the left and up.
    pub centre_s: [f64; 3],
    /// Of each direction beside those, where its phases tell.
    own_s: Vec<Option<f64>>,
}

/// Steps of phase from line to line.
struct Steps<'a> {
    hz: &'a [f64],
    phasor: Vec<Complex<f64>>,
}

impl Steps<'_> {
    fn coherence(&self, delay_s: f64) -> f64 {
        let turned = self.hz.iter().zip(&self.phasor).map(|(hz, phasor)| {
            let (sin, cos) = (2.0 * PI * hz * delay_s).sin_cos();
            phasor.re * cos - phasor.im * sin
        });
        turned.sum::<f64>() / self.hz.len().max(1) as f64
    }

    /// The shortest delay that is as good as any up to `longest_s`, and its coherence.
    fn delay_s(&self, longest_s: f64) -> (f64, f64) {
        let widest_hz = self.hz.iter().copied().fold(0.0, f64::max);
        let step_s = (PART_OF_A_TURN / widest_hz).min(longest_s / 16.0);
        let count = (longest_s / step_s).floor() as i64;
        let tried: Vec<(f64, f64)> = (-count..=count)
            .map(|step| step as f64 * step_s)
            .map(|delay_s| (delay_s, self.coherence(delay_s)))
            .collect();
        let greatest = tried.iter().map(|tried| tried.1).fold(f64::MIN, f64::max);
        let good = tried.iter().filter(|tried| tried.1 >= greatest - AS_GOOD);
        let shortest = good.min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
        let (mut delay_s, mut coherence) = shortest.copied().unwrap_or((0.0, 0.0));
        // Up the hill from there, in steps that grow smaller.
        let mut step_s = step_s;
        while step_s > 1e-12 {
            let uphill = [delay_s - step_s, delay_s + step_s]
                .map(|next_s| (next_s, self.coherence(next_s)))
                .into_iter()
                .find(|next| next.1 > coherence);
            match uphill {
                Some(next) => (delay_s, coherence) = next,
                None => step_s *= 0.5,
            }
        }
        (delay_s, coherence)
    }
}

impl Delays {
    pub(super) fn of(measured: &Measured) -> Self {
        let frequency_hz = &measured.frequency_hz;
        let hz: Vec<f64> = frequency_hz.windows(2).map(|f| f[1] - f[0]).collect();
        let directions = measured.directions();
        if hz.is_empty() {
            return Self {
                common_s: 0.0,
                centre_s: [0.0; 3],
                own_s: vec![None; directions],
            };
        }
        let weights = measured.weights();
        let all = Steps {
            hz: &hz,
            phasor: (0..hz.len())
                .map(|line| {
                    let pairs = measured.line(line).iter().zip(measured.line(line + 1));
                    let mut sum = Complex::new(0.0, 0.0);
                    let mut size = 0.0;
                    for ((below, above), w) in pairs.zip(&weights) {
                        let cross = above * below.conj();
                        sum += cross * *w;
                        size += cross.norm() * w;
                    }
                    if size > 0.0 { sum / size } else { sum }
                })
                .collect(),
        };
        let (common_s, coherence) = all.delay_s(LONGEST_S);
        let common_s = if coherence < LEAST_COHERENCE {
            0.0
        } else {
            common_s
        };
        let levels = measured.line_levels();
        let loud_from = measured.loud_from();
        let mut own_s = vec![None; directions];
        let mut normal = Matrix4::zeros();
        let mut right = Vector4::zeros();
        let mut told = 0;
        for direction in 0..directions {
            let value = |line: usize| measured.line(line)[direction] / levels[line];
            let loud: Vec<usize> = (0..hz.len())
                .filter(|&line| {
                    let at = |line: usize| measured.line(line)[direction].norm();
                    at(line) >= loud_from[line] && at(line + 1) >= loud_from[line + 1]
                })
                .collect();
            if loud.len() < FEWEST_STEPS {
                continue;
            }
            let steps_hz: Vec<f64> = loud.iter().map(|&line| hz[line]).collect();
            let phasor = loud.iter().zip(&steps_hz).map(|(&line, hz)| {
                let cross = value(line + 1) * value(line).conj();
                let back = Complex::from_polar(1.0, 2.0 * PI * hz * common_s);
                cross / cross.norm() * back
            });
            let steps = Steps {
                phasor: phasor.collect(),
                hz: &steps_hz,
            };
            let (delay_s, coherence) = steps.delay_s(LONGEST_APART_S);
            if coherence < LEAST_OWN_COHERENCE {
                continue;
            }
            own_s[direction] = Some(delay_s);
            told += 1;
            let energy: f64 = loud.iter().map(|&line| value(line).norm_sqr()).sum();
            let [x, y, z] = unit(measured.direction_deg(direction));
            let row = Vector4::new(1.0, -x, -y, -z);
            let weight = weights[direction] * energy;
            normal += row * row.transpose() * weight;
            right += row * (delay_s * weight);
        }
        let mut delays = Self {
            common_s,
            centre_s: [0.0; 3],
            own_s,
        };
        if told > 8 {
            // A measurement of one half only tells little of some direction: that stays at 0.
            let ridge = 1e-9 * normal.trace();
            let fit = (normal + Matrix4::identity() * ridge).cholesky();
            if let Some(fit) = fit.map(|fit| fit.solve(&right)) {
                delays.common_s += fit[0];
                delays.centre_s = [fit[1], fit[2], fit[3]];
                delays
                    .own_s
                    .iter_mut()
                    .flatten()
                    .for_each(|own_s| *own_s -= fit[0]);
            }
        }
        delays
    }

    /// The same of phases from which a delay was taken out.
    pub(super) fn less(mut self, delay_s: f64) -> Self {
        self.common_s -= delay_s;
        self
    }

    /// Refuses turns of phase above half a turn between loud neighbours, from line to line and from
    /// direction to direction: what lies between them cannot be known.
    pub(super) fn check_steps(&self, measured: &Measured) -> Result<()> {
        let loud_from = measured.loud_from();
        let frequency_hz = &measured.frequency_hz;
        let loud = |line: usize, direction: usize| {
            measured.line(line)[direction].norm() >= loud_from[line]
        };
        let refused = |turns: f64, between: String| {
            Err(InputError::new(
                "response",
                format!("{turns:.2} turns of phase between {between}"),
                format!("at most {MOST_TURNS} turns between neighbours; measure at closer steps"),
            ))
        };
        for (direction, own_s) in self.own_s.iter().enumerate() {
            let Some(own_s) = own_s else { continue };
            let [azimuth_deg, elevation_deg] = measured.direction_deg(direction);
            for (line, f) in frequency_hz.windows(2).enumerate() {
                let turns = own_s.abs() * (f[1] - f[0]);
                if turns > MOST_TURNS && loud(line, direction) && loud(line + 1, direction) {
                    let place = format!("azimuth {azimuth_deg}°, elevation {elevation_deg}°");
                    return refused(turns, format!("{} and {} Hz at {place}", f[0], f[1]));
                }
            }
            for other in neighbours(measured, direction) {
                let Some(other_s) = self.own_s[other] else {
                    continue;
                };
                for (line, f) in frequency_hz.iter().enumerate() {
                    let turns = (own_s - other_s).abs() * f;
                    if turns > MOST_TURNS && loud(line, direction) && loud(line, other) {
                        let [azimuth, elevation] = measured.direction_deg(other);
                        let from = format!("azimuth {azimuth_deg}°, elevation {elevation_deg}°");
                        let to = format!("{azimuth}°, {elevation}° at {f} Hz");
                        return refused(turns, format!("{from} and {to}"));
                    }
                }
            }
        }
        Ok(())
    }
}

/// The directions to the left and above.
fn neighbours(measured: &Measured, direction: usize) -> impl Iterator<Item = usize> {
    let columns = measured.azimuth_deg.len();
    let left = (direction % columns + 1 < columns).then_some(direction + 1);
    let above = direction + columns;
    let above = (above < measured.directions()).then_some(above);
    left.into_iter().chain(above)
}
