//! From which pins does the search start?
//!
//! High-frequency stationary phase: on the axis of a line source curved by κ, the squared pressure
//! at distance r goes as 1 / (r (1 + κ r)). A wanted fall of 6β dB a doubling of distance asks for
//! r (1 + κ r) = C r^{2β}, so κ(r) = C r^{2β−2} − 1/r. Cabinet by cabinet from the top, r is where
//! the axis meets the seats, splay = κ · height, and C is found so that the last axis meets the
//! lowest seats.
//!
//! Source: F. Gölles and F. Zotter, "Theory of continuously curved and phased line sources for
//! sound reinforcement", Acta Acustica 7:52 (2023).

use crate::pose::Vec2;

/// Halvings of the bracket of C; the bracket's width then is below a splay of 1e-9 degrees.
const HALVINGS: usize = 60;

/// The seats as seen from the hang: distance against elevation.
#[derive(Clone, Debug)]
pub(super) struct Sight {
    /// Elevation, ascending.
    elevation_rad: Vec<f64>,
    distance_m: Vec<f64>,
}

impl Sight {
    /// Sees ears at `(x, z)` from `eye_m`.
    pub(super) fn new(ears_m: impl Iterator<Item = Vec2>, eye_m: Vec2) -> Self {
        let mut seen: Vec<(f64, f64)> = ears_m
            .map(|ear| ear - eye_m)
            .map(|to| (to.y.atan2(to.x), to.norm()))
            .collect();
        seen.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self {
            elevation_rad: seen.iter().map(|s| s.0).collect(),
            distance_m: seen.iter().map(|s| s.1).collect(),
        }
    }

    /// Elevation of the highest seats.
    pub(super) fn highest_rad(&self) -> f64 {
        self.elevation_rad.last().copied().unwrap_or(0.0)
    }

    fn lowest_rad(&self) -> f64 {
        self.elevation_rad.first().copied().unwrap_or(0.0)
    }

    /// Distance of the seats an axis meets, linear between neighbours, constant beyond the ends.
    fn distance_m(&self, elevation_rad: f64) -> f64 {
        let next = self
            .elevation_rad
            .partition_point(|&seen| seen < elevation_rad);
        let last = self.elevation_rad.len() - 1;
        if next == 0 {
            return self.distance_m[0];
        }
        if next > last {
            return self.distance_m[last];
        }
        let (from, to) = (self.elevation_rad[next - 1], self.elevation_rad[next]);
        let t = (elevation_rad - from) / (to - from);
        self.distance_m[next - 1] + t * (self.distance_m[next] - self.distance_m[next - 1])
    }
}

/// Splays of the continuous law from the first axis `first_rad` down to the lowest seats, one for
/// each joint below a cabinet of `height_m`.
pub(super) fn curve_rad(sight: &Sight, first_rad: f64, height_m: &[f64], beta: f64) -> Vec<f64> {
    let wanted_rad = (first_rad - sight.lowest_rad()).max(0.0);
    let total = |c: f64| -> f64 { splays(sight, first_rad, height_m, beta, c).iter().sum() };
    let (mut low, mut high) = (0.0, 1.0);
    while total(high) < wanted_rad && high < 1e12 {
        high *= 2.0;
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if total(middle) < wanted_rad {
            low = middle;
        } else {
            high = middle;
        }
    }
    splays(sight, first_rad, height_m, beta, high)
}

fn splays(sight: &Sight, first_rad: f64, height_m: &[f64], beta: f64, c: f64) -> Vec<f64> {
    let mut axis_rad = first_rad;
    height_m
        .iter()
        .map(|height| {
            let r = sight.distance_m(axis_rad);
            let curvature_per_m = c * r.powf(2.0 * beta - 2.0) - 1.0 / r;
            // An axis beyond the lowest seats has nothing left to serve; a turn is enough.
            let splay_rad = (curvature_per_m * height).clamp(0.0, 1.0);
            axis_rad -= splay_rad;
            splay_rad
        })
        .collect()
}

/// The listed positions that follow the wanted splays, the rounding carried on to the next joint.
pub(super) fn snapped(splays_rad: &[f64], positions_deg: &[&[f64]]) -> Vec<usize> {
    let mut owed_deg = 0.0;
    splays_rad
        .iter()
        .zip(positions_deg)
        .map(|(splay, positions)| {
            let wanted_deg = splay.to_degrees() + owed_deg;
            let pin = nearest(positions, wanted_deg);
            owed_deg = wanted_deg - positions[pin];
            pin
        })
        .collect()
}

/// Index of the listed position nearest to an angle.
pub(super) fn nearest(positions_deg: &[f64], angle_deg: f64) -> usize {
    let mut best = 0;
    for (index, position) in positions_deg.iter().enumerate() {
        if (position - angle_deg).abs() < (positions_deg[best] - angle_deg).abs() {
            best = index;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn floor() -> Sight {
        let ears = (0..200).map(|i| Vec2::new(8.0 + 0.25 * f64::from(i), 1.2));
        Sight::new(ears, Vec2::new(0.0, 9.0))
    }

    #[test]
    fn the_curve_ends_on_the_lowest_seats_and_grows_downwards() {
        let sight = floor();
        let splays = curve_rad(&sight, sight.highest_rad(), &[0.36; 11], 0.0);
        let total: f64 = splays.iter().sum();
        assert_relative_eq!(
            total,
            sight.highest_rad() - sight.lowest_rad(),
            max_relative = 1e-6
        );
        assert!(splays.windows(2).all(|pair| pair[1] >= pair[0] - 1e-12));
    }

    #[test]
    fn the_level_law_holds_along_the_curve() {
        let sight = floor();
        for beta in [0.0, 0.25, 0.5] {
            let splays = curve_rad(&sight, sight.highest_rad(), &[0.36; 11], beta);
            let mut axis = sight.highest_rad();
            let mut constants = Vec::new();
            for splay in &splays {
                let r = sight.distance_m(axis);
                let curvature = splay / 0.36;
                if *splay > 0.0 {
                    constants.push(r * (1.0 + curvature * r) / r.powf(2.0 * beta));
                }
                axis -= splay;
            }
            assert!(constants.len() > 5);
            for constant in &constants {
                assert_relative_eq!(*constant, constants[0], max_relative = 1e-9);
            }
        }
    }

    #[test]
    fn rounding_to_positions_is_carried_on() {
        let positions: &[f64] = &[0.0, 1.0, 2.0];
        let pins = snapped(&[0.6f64.to_radians(); 10], &[positions; 10]);
        let total: f64 = pins.iter().map(|&pin| positions[pin]).sum();
        assert!((total - 6.0).abs() <= 0.5 + 1e-9);
    }
}
