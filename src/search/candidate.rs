//! What the search varies: a pin for each joint, the aim of the frame, the height.

use crate::model::{Hang, Study};
use crate::statics::balance::hanging_tilt_of;

/// One choice of every variable, as indices into the lists of [`Variables`].
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Candidate {
    pub pins: Vec<usize>,
    pub aim: usize,
    pub top: usize,
    /// One per cabinet, or none where gains are not varied.
    pub gains: Vec<usize>,
}

/// How the tilt comes about.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Aims {
    /// Two hoists hold the frame at a tilt of this list.
    Held(Vec<f64>),
    /// One hoist in a hole of this list; the tilt follows from the centre of gravity.
    Hole(Vec<f64>),
}

/// The values each variable may take.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Variables {
    pub positions_deg: Vec<Vec<f64>>,
    pub aims: Aims,
    pub tops_m: Vec<f64>,
    /// Gains a cabinet may be set to; empty where gains are not varied.
    pub gains_db: Vec<f64>,
}

impl Variables {
    pub(super) fn of(study: &Study) -> Self {
        let hang = &study.hang;
        let aims = if study.pick_x_m.is_empty() {
            Aims::Hole(hang.frame.pick_x_m.clone())
        } else {
            Aims::Held(grid(study.tilt_range_deg, study.tilt_step_deg))
        };
        Self {
            positions_deg: (0..hang.splays_deg.len())
                .map(|joint| hang.positions_deg(joint).to_vec())
                .collect(),
            aims,
            tops_m: grid(study.top_range_m, study.top_step_m),
            gains_db: study.goals.gains_db.clone(),
        }
    }

    /// The same with every pin as the study's hang has it.
    pub(super) fn as_pinned(study: &Study) -> Self {
        let pinned = study.hang.splays_deg.iter().map(|&splay| vec![splay]);
        Self {
            positions_deg: pinned.collect(),
            gains_db: Vec::new(),
            ..Self::of(study)
        }
    }

    pub(super) fn splays_deg(&self, candidate: &Candidate) -> Vec<f64> {
        candidate
            .pins
            .iter()
            .zip(&self.positions_deg)
            .map(|(&pin, positions)| positions[pin])
            .collect()
    }

    /// A candidate whose gains are the nearest to 0 dB.
    pub(super) fn candidate(&self, pins: Vec<usize>, aim: usize, top: usize) -> Candidate {
        let gains = if self.gains_db.is_empty() {
            Vec::new()
        } else {
            vec![super::law::nearest(&self.gains_db, 0.0); pins.len() + 1]
        };
        Candidate {
            pins,
            aim,
            top,
            gains,
        }
    }

    pub(super) fn gain_db(&self, candidate: &Candidate, cabinet: usize) -> f64 {
        candidate
            .gains
            .get(cabinet)
            .map_or(0.0, |&gain| self.gains_db[gain])
    }

    pub(super) fn aim_count(&self) -> usize {
        match &self.aims {
            Aims::Held(list) | Aims::Hole(list) => list.len(),
        }
    }

    pub(super) fn tilt_deg(&self, hang: &Hang, splays_deg: &[f64], aim: usize) -> f64 {
        match &self.aims {
            Aims::Held(tilts) => tilts[aim],
            Aims::Hole(holes) => hanging_tilt_of(hang, splays_deg, holes[aim]),
        }
    }

    /// The picks in use.
    pub(super) fn pick_x_m(&self, study: &Study, aim: usize) -> Vec<f64> {
        match &self.aims {
            Aims::Held(_) => study.pick_x_m.clone(),
            Aims::Hole(holes) => vec![holes[aim]],
        }
    }

    /// How many candidates there are, or infinity beyond what a float counts.
    pub(super) fn count(&self) -> f64 {
        let pins: f64 = self.positions_deg.iter().map(|p| p.len() as f64).product();
        let cabinets = self.positions_deg.len() as i32 + 1;
        let gains = (self.gains_db.len().max(1) as f64).powi(cabinets);
        pins * gains * self.aim_count() as f64 * self.tops_m.len() as f64
    }
}

/// `low`, `low + step`, … up to and including `high`; the study's check bounds their number.
fn grid([low, high]: [f64; 2], step: f64) -> Vec<f64> {
    let steps = ((high - low) / step * (1.0 + 1e-12)).floor() as usize;
    let mut values: Vec<f64> = (0..=steps).map(|i| low + step * i as f64).collect();
    if high - values[steps] > 1e-9 {
        values.push(high);
    }
    values
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grid_holds_both_ends() {
        assert_eq!(grid([-1.0, 1.0], 0.5), [-1.0, -0.5, 0.0, 0.5, 1.0]);
        assert_eq!(grid([0.0, 1.0], 0.4), [0.0, 0.4, 0.8, 1.0]);
        assert_eq!(grid([7.0, 7.0], 0.25), [7.0]);
    }
}
