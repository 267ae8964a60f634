//! How does a rigid frame on many plumb hoists share its weight, when hoists only pull?
//!
//! Hoist i at plan point pᵢ, with spring rate kᵢ and its hook hᵢ too high, pulls rᵢ ≥ 0. Of all
//! pulls in balance, Σ rᵢ (1, pᵢ) = W (1, p_G), the frame takes those of least energy
//! Σ (rᵢ²/2kᵢ − hᵢ rᵢ). On three hoists the balance alone decides; on more the spring rates do.
//! Hoists that would have to push are slack: rᵢ ≥ 0, gapᵢ ≥ 0, rᵢ gapᵢ = 0.
//!
//! That is [`crate::equilibrium::non_negative`]'s programme with three balances.

pub(super) use crate::equilibrium::non_negative::Work;

use crate::equilibrium::non_negative::Programme;
use crate::error::{InputError, Result, accept, each, finite, positive};
use nalgebra::Vector3;

/// Share of the points' extent within which they stand on one line, or in one place.
const FLAT: f64 = 1e-9;

/// What each hoist carries.
#[derive(Clone, Debug, PartialEq)]
pub struct RigidHang {
    /// Pull of each hoist.
    pub load_n: Vec<f64>,
    /// Hoists that carry nothing.
    pub slack: Vec<bool>,
    /// Greatest force, or moment over the hoists' half extent, left unbalanced, over the greater of
    /// the weight and the greatest pull.
    pub residual: f64,
}

/// Pulls of `points_m`'s hoists, in plan, that hold a weight whose centre of gravity is at `cg_m`.
///
/// `stiffness_n_m` of `None` takes the hoists as equally stiff; then `high_m`, how much too high
/// each hook is, must be `None` too.
///
/// # Errors
/// An input out of bounds, or a centre of gravity that is not plumb below the points' hull, so
/// that the frame tips.
pub fn rigid_hang(
    points_m: &[[f64; 2]],
    cg_m: [f64; 2],
    weight_n: f64,
    stiffness_n_m: Option<&[f64]>,
    high_m: Option<&[f64]>,
) -> Result<RigidHang> {
    let plan = Plan::new(points_m)?;
    each("cg_m", &cg_m, finite)?;
    positive("weight_n", weight_n)?;
    let count = points_m.len();
    let stiffness = match stiffness_n_m {
        Some(rates) => {
            check_count("stiffness_n_m", rates.len(), count)?;
            each("stiffness_n_m", rates, positive)?;
            rates.to_vec()
        }
        None => vec![1.0; count],
    };
    let high = match high_m {
        Some(high) => {
            check_count("high_m", high.len(), count)?;
            each("high_m", high, finite)?;
            accept(
                stiffness_n_m.is_some(),
                "stiffness_n_m",
                "None",
                "spring rates; without them hooks at odd heights have no answer",
            )?;
            high.to_vec()
        }
        None => vec![0.0; count],
    };
    let mut work = Work::default();
    accept(
        plan.share(cg_m, weight_n, &stiffness, &high, &mut work),
        "cg_m",
        format!("({}, {})", cg_m[0], cg_m[1]),
        "a place plumb below the points or between them; elsewhere the frame tips",
    )?;
    Ok(RigidHang {
        slack: work.pull.iter().map(|&pull| pull == 0.0).collect(),
        residual: work.residual,
        load_n: work.pull,
    })
}

pub(super) fn check_count(field: &str, given: usize, wanted: usize) -> Result<()> {
    accept(
        given == wanted,
        field,
        format!("{given} numbers"),
        format!("{wanted} numbers, one per hoist"),
    )
    .map(drop)
}

/// The hoists' plan in axes of their own, where the balance is well conditioned.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    origin_m: [f64; 2],
    /// Cosine and sine of the long axis.
    axis: [f64; 2],
    /// Half extents along and across; zero where the points do not spread.
    extent_m: [f64; 2],
    /// (1, along, across) of each hoist, the latter two scaled to −1 … 1.
    rows: Vec<Vector3<f64>>,
}

impl Plan {
    pub fn new(points_m: &[[f64; 2]]) -> Result<Self> {
        accept(!points_m.is_empty(), "points_m", "[]", "at least one hoist")?;
        for (index, point) in points_m.iter().enumerate() {
            each("", point, finite).map_err(|error| InputError {
                field: format!("points_m[{index}]"),
                ..error
            })?;
        }
        let count = points_m.len() as f64;
        let mean = |axis: usize| points_m.iter().map(|p| p[axis]).sum::<f64>() / count;
        let origin_m = [mean(0), mean(1)];
        let spread = |a: usize, b: usize| {
            points_m
                .iter()
                .map(|p| (p[a] - origin_m[a]) * (p[b] - origin_m[b]))
                .sum::<f64>()
        };
        let turn = 0.5 * (2.0 * spread(0, 1)).atan2(spread(0, 0) - spread(1, 1));
        let mut plan = Self {
            origin_m,
            axis: [turn.cos(), turn.sin()],
            extent_m: [0.0, 0.0],
            rows: Vec::new(),
        };
        let local: Vec<[f64; 2]> = points_m.iter().map(|&point| plan.local(point)).collect();
        let greatest = |axis: usize| local.iter().fold(0.0, |top: f64, p| top.max(p[axis].abs()));
        let (along, across) = (greatest(0), greatest(1));
        let size = 1.0 + origin_m[0].abs().max(origin_m[1].abs());
        if along > FLAT * size {
            plan.extent_m[0] = along;
            if across > FLAT * along.max(size) {
                plan.extent_m[1] = across;
            }
        }
        plan.rows = local.iter().map(|&point| plan.row(point)).collect();
        Ok(plan)
    }

    fn local(&self, point: [f64; 2]) -> [f64; 2] {
        let (x, y) = (point[0] - self.origin_m[0], point[1] - self.origin_m[1]);
        let [cos, sin] = self.axis;
        [x * cos + y * sin, y * cos - x * sin]
    }

    fn row(&self, local: [f64; 2]) -> Vector3<f64> {
        let scaled = |axis: usize| {
            if self.extent_m[axis] > 0.0 {
                local[axis] / self.extent_m[axis]
            } else {
                0.0
            }
        };
        Vector3::new(1.0, scaled(0), scaled(1))
    }

    /// Whether all points stand on one line, or in one place.
    pub fn is_line(&self) -> bool {
        self.extent_m[1] == 0.0
    }

    /// The nearest place to `point` on the points' line, and how far to the left of it `point` is.
    pub fn onto_line(&self, point: [f64; 2]) -> ([f64; 2], f64) {
        let [along, across] = self.local(point);
        let along = if self.extent_m[0] > 0.0 { along } else { 0.0 };
        let [cos, sin] = self.axis;
        (
            [
                self.origin_m[0] + along * cos,
                self.origin_m[1] + along * sin,
            ],
            across,
        )
    }

    /// Puts the pulls into `work`; false where the frame tips.
    pub fn share(
        &self,
        cg_m: [f64; 2],
        weight_n: f64,
        stiffness: &[f64],
        high_m: &[f64],
        work: &mut Work,
    ) -> bool {
        let cg = self.local(cg_m);
        let tolerance_m = FLAT * (1.0 + self.extent_m[0]);
        if (0..2).any(|axis| self.extent_m[axis] == 0.0 && cg[axis].abs() > tolerance_m) {
            return false;
        }
        let balance = self.row(cg) * weight_n;
        Programme {
            rows: &self.rows,
            flat: self.extent_m.map(|extent| extent == 0.0),
            rates: stiffness,
            offsets: high_m,
        }
        .solve(&balance, weight_n, work)
    }
}

#[cfg(test)]
mod tests;
