//! What can gains and a filter still mend, once the pins are in?
//!
//! The gains g_i of the cabinets, in dB, that make J² = Σ_b v_b Σ_r w_r (L_rb − T_r − M_b)² / (Σ v Σ w)
//! least, each between a bound and 0 dB. With p_i the pressure of cabinet i at a seat and a line and
//! p the sum of all,
//!
//! ∂L_rb/∂g_i = Σ Re(p̄ p_i) / Σ |p|², summed over the band's lines:
//!
//! the cabinet's share of the band's energy there. Where hangs sound beside it, p is that of the
//! cabinet's feed with all that sounds in it, and the energies of all feeds make the level. A twin's
//! cabinets have the gains of the hang's, so the sum in the numerator goes over both feeds. Steps of K. Levenberg (Quarterly of Applied
//! Mathematics 2, 1944) and D. W. Marquardt (J. SIAM 11, 1963) among the gains that are not held by
//! a bound. The filter for the whole hang then takes each band's mean to the mean of all, within a
//! bound of its own.

use super::candidate::Variables;
use super::company::Company;
use super::detail::Detail;
use super::listeners::wanted_db;
use super::problem::Problem;
use crate::acoustics::measures::where_all_hear;
use crate::acoustics::{Field, Receivers, Room, unevenness};
use crate::error::{Result, within_range};
use crate::model::{Study, Valid};
use nalgebra::{Complex, DMatrix, DVector};

const MOST_STEPS: usize = 60;

/// Gains of J smaller than this, as a share of it, end the steps.
const LEAST_GAIN: f64 = 1e-9;

/// Damping at the start, as a share of the greatest diagonal element, and when it is given up.
const DAMPING: f64 = 1e-3;
const MOST_DAMPING: f64 = 1e9;

/// Gains and a filter for a hang whose pins stay.
#[derive(Clone, Debug, PartialEq)]
pub struct Electronics {
    /// Gain of each cabinet.
    pub gains_db: Vec<f64>,
    /// Numbers of the third octaves, 0 at 1 kHz.
    pub bands: Vec<i32>,
    /// Gain of the whole hang in each.
    pub filter_db: Vec<f64>,
    /// Unevenness and mean level without gains and with them.
    pub before_db: [f64; 2],
    /// See `before_db`.
    pub after_db: [f64; 2],
    /// Whether the steps came to an end by themselves.
    pub converged: bool,
}

/// The gains, from `least_gain_db` to 0 dB, and the filter, of at most `most_filter_db` up or down,
/// that serve the seats of a study most evenly from its hang as it is pinned.
///
/// # Errors
/// A bound out of range, a seat that no sound reaches, or as [`optimise_splays`](super::optimise_splays).
pub fn electronics(
    study: &Valid<Study>,
    tilt_deg: f64,
    top_m: f64,
    least_gain_db: f64,
    most_filter_db: f64,
) -> Result<Electronics> {
    within_range("least_gain_db", least_gain_db, -60.0, 0.0)?;
    within_range("most_filter_db", most_filter_db, 0.0, 60.0)?;
    let variables = Variables::as_pinned(study);
    let detail = Detail::full(study);
    let tolerance = detail.tolerance;
    let problem = Problem::varying(study, variables, detail)?;
    let pins = vec![0; study.hang.splays_deg.len()];
    let laid = problem.lay_at(problem.variables.candidate(pins, 0, 0), tilt_deg, top_m);
    let seats = study.venue.seats();
    let receivers = Receivers::of_seats(&seats);
    let lines = &problem.conditions[0].lines;
    let room = Room::of(&study.venue);
    let (starts, others) = Company::of(study)?.fields(&room, &receivers, lines, tolerance)?;
    let voices = starts.into_iter().enumerate().map(|(voice, start)| {
        let cabinets = (0..study.hang.cabinets.len()).map(|cabinet| {
            let range = cabinet..cabinet + 1;
            let sources = problem.sources(&laid.candidate, &laid.pose, range, voice)?;
            let shaded = sources.shaded_in(&room, &receivers, lines);
            Ok(Field::of(&shaded, &receivers, lines))
        });
        Ok(Voice {
            start: start.map(|sources| Field::of(&sources, &receivers, lines)),
            cabinets: cabinets.collect::<Result<_>>()?,
        })
    });
    let shared = Shared {
        voices: voices.collect::<Result<_>>()?,
        others,
        lines_of_band: lines
            .bands()
            .iter()
            .map(|band| band.lines.clone())
            .collect(),
        weight: receivers.weight().to_vec(),
        band_weight: if lines.bands().len() == study.goals.bands().len() {
            study.goals.band_weights()
        } else {
            vec![1.0; lines.bands().len()]
        },
        wanted_db: wanted_db(study, &seats),
    };
    let before = shared.measured(&vec![0.0; shared.count()]);
    where_all_hear(before.unevenness_db)?;
    let (gains_db, converged) = shared.least(least_gain_db);
    let after = shared.measured(&gains_db);
    let filter = after.band_mean_db.iter();
    Ok(Electronics {
        filter_db: filter
            .map(|mean_db| (after.mean_db - mean_db).clamp(-most_filter_db, most_filter_db))
            .collect(),
        bands: lines.bands().iter().map(|band| band.number).collect(),
        before_db: [before.unevenness_db, before.mean_db],
        after_db: [after.unevenness_db, after.mean_db],
        gains_db,
        converged,
    })
}

/// What sounds in one feed: the cabinets each by itself, and what else sounds in it.
struct Voice {
    start: Option<Field>,
    cabinets: Vec<Field>,
}

/// The pressures of the cabinets and what sounds beside them.
struct Shared {
    voices: Vec<Voice>,
    /// Feeds in which no cabinet of the hang sounds.
    others: Vec<Field>,
    lines_of_band: Vec<std::ops::Range<usize>>,
    weight: Vec<f64>,
    band_weight: Vec<f64>,
    wanted_db: Option<Vec<f64>>,
}

/// Normal equations of one step.
struct Slope {
    square: f64,
    matrix: DMatrix<f64>,
    gradient: DVector<f64>,
}

impl Voice {
    fn part(&self, cabinet: usize, line: usize, seat: usize, factor: &[f64]) -> Complex<f64> {
        self.cabinets[cabinet].pressure(line, seat) * factor[cabinet]
    }

    fn sum(&self, line: usize, seat: usize, factor: &[f64]) -> Complex<f64> {
        let start = self
            .start
            .as_ref()
            .map_or(Complex::default(), |field| field.pressure(line, seat));
        let cabinets = 0..self.cabinets.len();
        start
            + cabinets
                .map(|i| self.part(i, line, seat, factor))
                .sum::<Complex<f64>>()
    }
}

impl Shared {
    /// Number of cabinets, whose gains are searched.
    fn count(&self) -> usize {
        self.voices[0].cabinets.len()
    }

    /// Energy of one line at a seat, all feeds together.
    fn energy(&self, line: usize, seat: usize, factor: &[f64]) -> f64 {
        let voices = self
            .voices
            .iter()
            .map(|voice| voice.sum(line, seat, factor).norm_sqr());
        let others = self
            .others
            .iter()
            .map(|field| field.pressure(line, seat).norm_sqr());
        voices.sum::<f64>() + others.sum::<f64>()
    }

    fn least(&self, least_gain_db: f64) -> (Vec<f64>, bool) {
        let count = self.count();
        let mut gains = DVector::zeros(count);
        let mut slope = self.slope(&gains);
        let mut damping = DAMPING;
        for _ in 0..MOST_STEPS {
            // A gain at a bound that J would push beyond it stays.
            let free: Vec<usize> = (0..count)
                .filter(|&i| {
                    let slope = slope.gradient[i];
                    !(gains[i] >= 0.0 && slope < 0.0 || gains[i] <= least_gain_db && slope > 0.0)
                })
                .collect();
            let scale = free
                .iter()
                .map(|&i| slope.matrix[(i, i)])
                .fold(0.0, f64::max);
            if free.is_empty() || scale == 0.0 {
                return (gains.as_slice().to_vec(), true);
            }
            let mut better = None;
            while damping < MOST_DAMPING && better.is_none() {
                let matrix = DMatrix::from_fn(free.len(), free.len(), |i, j| {
                    let diagonal = if i == j { damping * scale } else { 0.0 };
                    slope.matrix[(free[i], free[j])] + diagonal
                });
                let gradient = DVector::from_fn(free.len(), |i, _| slope.gradient[free[i]]);
                let Some(factor) = matrix.cholesky() else {
                    damping *= 10.0;
                    continue;
                };
                let step = factor.solve(&gradient);
                let mut next = gains.clone();
                for (place, &i) in free.iter().enumerate() {
                    next[i] = (gains[i] - step[place]).clamp(least_gain_db, 0.0);
                }
                let next_slope = self.slope(&next);
                if next_slope.square < slope.square {
                    better = Some((next, next_slope));
                    damping = (damping * 0.2).max(1e-9);
                } else {
                    damping *= 5.0;
                }
            }
            let Some((next, next_slope)) = better else {
                return (gains.as_slice().to_vec(), true);
            };
            let won = slope.square - next_slope.square;
            (gains, slope) = (next, next_slope);
            if won <= LEAST_GAIN * slope.square {
                return (gains.as_slice().to_vec(), true);
            }
        }
        (gains.as_slice().to_vec(), false)
    }

    /// Half the gradient of Σ v w (L − T − M)² and its matrix, with what they are of.
    fn slope(&self, gains_db: &DVector<f64>) -> Slope {
        let count = self.count();
        let factor: Vec<f64> = gains_db
            .iter()
            .map(|gain| 10f64.powf(gain / 20.0))
            .collect();
        let total: f64 = self.weight.iter().sum();
        let mut slope = Slope {
            square: 0.0,
            matrix: DMatrix::zeros(count, count),
            gradient: DVector::zeros(count),
        };
        for (lines, band_weight) in self.lines_of_band.iter().zip(&self.band_weight) {
            let mut rows = DMatrix::zeros(self.weight.len(), count);
            let mut level_db = DVector::zeros(self.weight.len());
            for seat in 0..self.weight.len() {
                let mut energy = 0.0;
                for line in lines.clone() {
                    energy += self.energy(line, seat, &factor);
                    for voice in &self.voices {
                        let sum = voice.sum(line, seat, &factor).conj();
                        for i in 0..count {
                            rows[(seat, i)] += (sum * voice.part(i, line, seat, &factor)).re;
                        }
                    }
                }
                rows.row_mut(seat).scale_mut(1.0 / energy);
                let wanted_db = self.wanted_db.as_ref().map_or(0.0, |wanted| wanted[seat]);
                level_db[seat] = 10.0 * (energy / lines.len() as f64).log10() - wanted_db;
            }
            let weight = DVector::from_column_slice(&self.weight);
            let mean_db = level_db.dot(&weight) / total;
            let mean_row = rows.tr_mul(&weight) / total;
            for seat in 0..self.weight.len() {
                let w = band_weight * self.weight[seat];
                let off_db = level_db[seat] - mean_db;
                let row = rows.row(seat).transpose() - &mean_row;
                slope.square += w * off_db * off_db;
                slope.gradient.axpy(w * off_db, &row, 1.0);
                slope.matrix.ger(w, &row, &row, 1.0);
            }
        }
        slope
    }

    fn measured(&self, gains_db: &[f64]) -> unevenness::Unevenness {
        let factor: Vec<f64> = gains_db
            .iter()
            .map(|gain| 10f64.powf(gain / 20.0))
            .collect();
        let level_db = |lines: &std::ops::Range<usize>, seat: usize| {
            let energy = lines.clone().map(|line| self.energy(line, seat, &factor));
            10.0 * (energy.sum::<f64>() / lines.len() as f64).log10()
        };
        let seats = 0..self.weight.len();
        let bands = self.lines_of_band.iter();
        let band_db: Vec<Vec<f64>> = bands
            .map(|lines| seats.clone().map(|seat| level_db(lines, seat)).collect())
            .collect();
        unevenness::of_levels(
            &band_db,
            &self.weight,
            self.wanted_db.as_deref(),
            &self.band_weight,
        )
    }
}
