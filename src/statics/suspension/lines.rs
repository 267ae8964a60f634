//! Where does a rigid body rest on lines that stretch and only pull, and on props that only push?
//!
//! The body shifts by (x, z) and turns by φ about its centre of gravity. A line of rate k from roof
//! point A to point P of the body pulls with k (|A − P| − l), l its length unloaded; a prop of rate
//! k at height f pushes with k (f − P_z), without friction. The body rests at the least of
//! V = W z + Σ ½ k s₊², s stretch or depth, found by Newton steps shifted to positive curvature
//! (Nocedal & Wright, Numerical Optimization, 2nd ed., 3.4).

use crate::equilibrium::tolerances::{AT_REST, ENERGY_ROUNDING, SETTLED};
use crate::pose::Vec2;
use nalgebra::{Cholesky, Matrix3, Rotation2, Vector3};

const MOST_STEPS: usize = 2000;
/// Longest step, as a share of the body's arms.
const STRIDE: f64 = 0.1;

/// A line to the roof.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Line {
    pub roof_m: Vec2,
    /// From the centre of gravity, before the body turns.
    pub arm_m: Vec2,
    pub unloaded_m: f64,
    pub stiffness_n_m: f64,
}

/// Something under the body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Prop {
    pub height_m: f64,
    /// As a line's.
    pub arm_m: Vec2,
    pub stiffness_n_m: f64,
}

/// A body on lines and props.
#[derive(Clone, Debug)]
pub(crate) struct Hung {
    pub weight_n: f64,
    /// Centre of gravity before it shifts.
    pub cg_m: Vec2,
    pub lines: Vec<Line>,
    pub props: Vec<Prop>,
}

/// How far it has shifted and turned.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Shift {
    pub way_m: Vec2,
    pub turn_rad: f64,
}

/// How the search for its rest ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinesEnd {
    /// Forces and moments are in balance.
    AtRest,
    /// The steps allowed were spent, or none lowers the energy.
    NoRestFound,
}

impl LinesEnd {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::AtRest => "at rest",
            Self::NoRestFound => "no rest found",
        }
    }
}

/// Where it rests.
#[derive(Clone, Debug)]
pub(crate) struct AtRest {
    pub shift: Shift,
    pub end: LinesEnd,
    /// Greatest force, or moment over the longest arm, left unbalanced, over the weight.
    pub residual: f64,
    pub line_n: Vec<f64>,
    pub prop_n: Vec<f64>,
    /// Lean of each line from plumb, upper end forward positive.
    pub lean_rad: Vec<f64>,
}

struct Value {
    energy: f64,
    slope: Vector3<f64>,
    curvature: Matrix3<f64>,
}

impl Hung {
    fn place(&self, shift: Shift, arm_m: Vec2) -> (Vec2, Vec2) {
        let arm = Rotation2::new(shift.turn_rad) * arm_m;
        (self.cg_m + shift.way_m + arm, arm)
    }

    fn line_n(&self, line: &Line, shift: Shift) -> (f64, Vec2) {
        let way = self.place(shift, line.arm_m).0 - line.roof_m;
        let stretch = (way.norm() - line.unloaded_m).max(0.0);
        (line.stiffness_n_m * stretch, way)
    }

    fn prop_n(&self, prop: &Prop, shift: Shift) -> f64 {
        let depth = prop.height_m - self.place(shift, prop.arm_m).0.y;
        prop.stiffness_n_m * depth.max(0.0)
    }

    fn value(&self, shift: Shift) -> Value {
        let mut value = Value {
            energy: self.weight_n * shift.way_m.y,
            slope: Vector3::new(0.0, self.weight_n, 0.0),
            curvature: Matrix3::zeros(),
        };
        for line in &self.lines {
            let (pull_n, way) = self.line_n(line, shift);
            if pull_n == 0.0 {
                continue;
            }
            let arm = self.place(shift, line.arm_m).1;
            let (along, length) = (way.normalize(), way.norm());
            let across = Vec2::new(-along.y, along.x);
            let moved = |d: Vec2| Vector3::new(d.x, d.y, arm.perp(&d));
            let (taut, sideways) = (moved(along), moved(across));
            value.energy += 0.5 * pull_n * pull_n / line.stiffness_n_m;
            value.slope += taut * pull_n;
            value.curvature += taut * taut.transpose() * line.stiffness_n_m
                + sideways * sideways.transpose() * (pull_n / length);
            value.curvature[(2, 2)] -= pull_n * along.dot(&arm);
        }
        for prop in &self.props {
            let push_n = self.prop_n(prop, shift);
            if push_n == 0.0 {
                continue;
            }
            let arm = self.place(shift, prop.arm_m).1;
            let rise = Vector3::new(0.0, 1.0, arm.x);
            value.energy += 0.5 * push_n * push_n / prop.stiffness_n_m;
            value.slope -= rise * push_n;
            value.curvature += rise * rise.transpose() * prop.stiffness_n_m;
            value.curvature[(2, 2)] += push_n * arm.y;
        }
        value
    }

    /// What rounding of lengths makes of the forces, over the weight: stiffer lines or props than that
    /// allows cannot be balanced better.
    fn rounding(&self, size_m: f64) -> f64 {
        let lines = self.lines.iter();
        let lines = lines.map(|line| line.stiffness_n_m * line.unloaded_m.max(size_m));
        let props = self.props.iter().map(|prop| prop.stiffness_n_m * size_m);
        f64::EPSILON * lines.chain(props).sum::<f64>() / self.weight_n
    }

    /// Descends from `shift` to rest.
    pub fn rest(&self, mut shift: Shift) -> AtRest {
        let arms = self.lines.iter().map(|line| line.arm_m);
        let arms = arms.chain(self.props.iter().map(|prop| prop.arm_m));
        let size_m = arms.map(|arm| arm.norm()).fold(1e-3, f64::max);
        let unbalanced = |slope: &Vector3<f64>| {
            let moment = slope.z.abs() / size_m;
            slope.x.abs().max(slope.y.abs()).max(moment) / self.weight_n
        };
        let allowed = AT_REST.max(self.rounding(size_m));
        let mut value = self.value(shift);
        let mut found = false;
        for _ in 0..MOST_STEPS {
            let step = downhill(&value, size_m);
            let long = (step.x.hypot(step.y) / size_m).max(step.z.abs());
            if long < SETTLED && unbalanced(&value.slope) < allowed {
                found = true;
                break;
            }
            let mut share = (STRIDE / long).min(1.0);
            let most_j = value.energy + ENERGY_ROUNDING * self.weight_n * size_m;
            let mut next = None;
            for _ in 0..50 {
                let tried = Shift {
                    way_m: shift.way_m + Vec2::new(step.x, step.y) * share,
                    turn_rad: shift.turn_rad + step.z * share,
                };
                let there = self.value(tried);
                if there.energy <= most_j {
                    next = Some((tried, there));
                    break;
                }
                share /= 2.0;
            }
            let Some((tried, there)) = next else {
                found = unbalanced(&value.slope) < allowed;
                break;
            };
            (shift, value) = (tried, there);
        }
        let lines = self.lines.iter().map(|line| self.line_n(line, shift));
        let (line_n, ways): (Vec<f64>, Vec<Vec2>) = lines.unzip();
        AtRest {
            shift,
            end: if found {
                LinesEnd::AtRest
            } else {
                LinesEnd::NoRestFound
            },
            residual: unbalanced(&value.slope),
            line_n,
            prop_n: self.props.iter().map(|p| self.prop_n(p, shift)).collect(),
            lean_rad: ways.iter().map(|way| (-way.x).atan2(-way.y)).collect(),
        }
    }
}

/// Newton's step, its curvature shifted until it is positive.
fn downhill(value: &Value, size_m: f64) -> Vector3<f64> {
    let scale = Vector3::new(1.0, 1.0, size_m * size_m);
    let stiff = (0..3).fold(1.0, |most: f64, i| {
        most.max(value.curvature[(i, i)].abs() / scale[i])
    });
    let mut shift = 0.0;
    loop {
        let shifted = value.curvature + Matrix3::from_diagonal(&(scale * shift));
        let positive = Cholesky::new(shifted).filter(|factor| {
            let roots = factor.l_dirty().diagonal();
            (0..3).all(|i| roots[i] * roots[i] > 1e-13 * stiff * scale[i])
        });
        if let Some(factor) = positive {
            return -factor.solve(&value.slope);
        }
        shift = (shift * 8.0).max(1e-9 * stiff);
    }
}
