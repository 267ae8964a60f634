//! Which hangs with a few pins in other positions do the readings accept?
//!
//! Every choice of at most k joints in other positions than planned is tried. Angles alone give
//! their χ² in closed form: with the turn sᵢ that the other pins give the body of reading i, and
//! dᵢ = reading − prediction + sᵢ, the tilt of least χ² leaves Σ d²/σ² − (Σ d/σ²)²/Σ 1/σ². Loads can
//! only add to it, so that only hangs which the angles accept need the fit.

use super::{Model, Quantity};
use crate::error::{Result, accept};

/// Most hangs tried.
pub const MOST_HANGS: u64 = 100_000;

/// A hang in which some joints sit in other positions, accepted by the readings.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherHang {
    /// Joints between cabinets, counted from 0 at the top, with the position each sits in.
    pub pins: Vec<(usize, f64)>,
    /// χ² of the readings.
    pub chi_square: f64,
}

/// Accepted hangs with at most `most_pins` other pins: fewest pins first, then least χ².
pub(super) fn other_hangs(
    model: &Model,
    planned_tilt_deg: f64,
    most_pins: usize,
    chi_square_limit: f64,
) -> Result<Vec<OtherHang>> {
    let choices: Vec<Vec<f64>> = (0..model.hang.splays_deg.len())
        .map(|joint| {
            let planned = model.hang.splays_deg[joint];
            let positions = model.hang.positions_deg(joint).iter().copied();
            positions
                .filter(|splay_deg| (splay_deg - planned).abs() >= 1e-9)
                .collect()
        })
        .collect();
    let most_pins = most_pins.min(choices.len());
    let count = count(&choices, most_pins);
    accept(
        count <= MOST_HANGS,
        "most_wrong_pins",
        most_pins,
        format!("so few that at most {MOST_HANGS} hangs are to be tried, not {count}"),
    )?;
    let mut search = Search {
        model,
        choices: &choices,
        planned_tilt_deg,
        planned: model.residual(&model.rigid(&model.hang.splays_deg), planned_tilt_deg),
        chi_square_limit,
        splays_deg: model.hang.splays_deg.clone(),
        pins: Vec::new(),
        found: Vec::new(),
    };
    search.choose(0, most_pins);
    let mut found = search.found;
    found.sort_by(|a, b| {
        let size = a.pins.len().cmp(&b.pins.len());
        size.then(a.chi_square.total_cmp(&b.chi_square))
    });
    Ok(found)
}

/// Number of hangs with one to `most_pins` other pins.
fn count(choices: &[Vec<f64>], most_pins: usize) -> u64 {
    let mut of_size = vec![0u64; most_pins + 1];
    of_size[0] = 1;
    for positions in choices {
        for size in (1..=most_pins).rev() {
            let more = of_size[size - 1].saturating_mul(positions.len() as u64);
            of_size[size] = of_size[size].saturating_add(more);
        }
    }
    of_size[1..].iter().fold(0, |sum, &n| sum.saturating_add(n))
}

struct Search<'a> {
    model: &'a Model<'a>,
    choices: &'a [Vec<f64>],
    planned_tilt_deg: f64,
    /// Residuals of the plan at the planned tilt.
    planned: Vec<f64>,
    chi_square_limit: f64,
    splays_deg: Vec<f64>,
    pins: Vec<(usize, f64)>,
    found: Vec<OtherHang>,
}

impl Search<'_> {
    /// Tries every choice of up to `most` joints from `first` down, on top of those chosen.
    fn choose(&mut self, first: usize, most: usize) {
        if most == 0 {
            return;
        }
        let choices = self.choices;
        for (joint, positions) in choices.iter().enumerate().skip(first) {
            for &splay_deg in positions {
                self.splays_deg[joint] = splay_deg;
                self.pins.push((joint, splay_deg));
                self.test();
                self.choose(joint + 1, most - 1);
                self.pins.pop();
            }
            self.splays_deg[joint] = self.model.hang.splays_deg[joint];
        }
    }

    fn test(&mut self) {
        if self.chi_square_of_angles() > self.chi_square_limit * (1.0 + 1e-9) {
            return;
        }
        let chi_square = self
            .model
            .fit(&self.splays_deg, self.planned_tilt_deg)
            .chi_square;
        if chi_square <= self.chi_square_limit {
            self.found.push(OtherHang {
                pins: self.pins.clone(),
                chi_square,
            });
        }
    }

    /// χ² of the angle readings alone, least over the tilt.
    fn chi_square_of_angles(&self) -> f64 {
        let (mut weights, mut sum, mut squares) = (0.0, 0.0, 0.0);
        for (reading, residual) in self.model.readings.iter().zip(&self.planned) {
            let turn_deg: f64 = match reading.what {
                Quantity::FrameAngle => 0.0,
                Quantity::CabinetAngle(cabinet) => {
                    let above = self.pins.iter().filter(|(joint, _)| *joint < cabinet);
                    above
                        .map(|(joint, splay_deg)| splay_deg - self.model.hang.splays_deg[*joint])
                        .sum()
                }
                Quantity::HoistLoad(_) => continue,
            };
            let weight = reading.uncertainty.powi(-2);
            let off_deg = residual * reading.uncertainty + turn_deg;
            weights += weight;
            sum += weight * off_deg;
            squares += weight * off_deg * off_deg;
        }
        if weights > 0.0 {
            squares - sum * sum / weights
        } else {
            0.0
        }
    }
}
