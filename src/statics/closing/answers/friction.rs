//! Between which chain forces does friction in the front hinges keep the hang where it is?
//!
//! A hinge pin of radius r under the force H turns once the moment about it passes μ r |H|. Closed,
//! a joint about to move has no force in its stop, so H = (0, W) + T d with W the weight below and d
//! the chain's direction past the joint, downwards. With gravity moment M and the chain's lever E,
//!
//! ```text
//! T E = M ± μ r |(0, W) + T d|
//! (E² − a²) T² − 2 (E M + a² W d_z) T + M² − a² W² = 0,   a = μ r
//! ```
//!
//! whose greater root closes the joint against friction, and below whose smaller root it opens. The
//! hang closes at the greatest of the greater roots and opens below the greatest of the smaller.
//! Joints on their stops do not turn, so theirs do not count; the way to closed is left out.
//!
//! Source: a dry journal turning slowly, e.g. Beer & Johnston, Vector Mechanics for Engineers: Statics
//! (2016), 8.6, with μ for sin atan μ, which is on the large side.

use super::closed::NOTHING;
use crate::error::{Result, within_range};
use crate::pose::mechanism::Mechanism;
use crate::pose::state::State;

/// Friction in the front hinges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HingeFriction {
    /// Coefficient.
    pub coefficient: f64,
    /// Radius of the hinge pins; 0 is none stated.
    pub pin_radius_m: f64,
}

impl Default for HingeFriction {
    /// The slip factor of untreated steel on steel, EN 1993-1-8:2005, table 3.7, class D (from
    /// memory); and no radius, so no friction.
    fn default() -> Self {
        Self {
            coefficient: 0.2,
            pin_radius_m: 0.0,
        }
    }
}

impl HingeFriction {
    /// # Errors
    /// A coefficient beyond 0 … 1 or a radius beyond 0 … 0.1 m.
    pub fn check(&self) -> Result<()> {
        within_range("friction", self.coefficient, 0.0, 1.0)?;
        within_range("pin_radius_m", self.pin_radius_m, 0.0, 0.1).map(drop)
    }
}

/// Chain forces between which a closed hang neither closes further nor opens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FrictionBand {
    /// Below it the first joint opens.
    pub holding_n: f64,
    /// At it the last joint closes; `None` where a hinge locks whatever the force.
    pub pulling_n: Option<f64>,
    /// The joint that asks for the pulling force; `None` where none is asked for.
    pub joint: Option<usize>,
}

impl FrictionBand {
    /// Of a hang that a chain force holds closed.
    pub(crate) fn of(mechanism: &Mechanism, closed: &State, friction: &HingeFriction) -> Self {
        let circle_m = friction.coefficient * friction.pin_radius_m;
        let mut band = Self {
            holding_n: 0.0,
            pulling_n: Some(0.0),
            joint: None,
        };
        for place in mechanism.hooks..mechanism.joints() {
            let lever_m = -closed.lever_m[place];
            if !mechanism.closes(place) || lever_m <= NOTHING {
                continue;
            }
            let hinge = Hinge {
                moment_nm: closed.load_nm[place],
                lever_m,
                weight_n: closed.below_kg[place] * mechanism.gravity_m_s2,
                down_z: closed.direction[place].y,
            };
            let [holding_n, pulling_n] = hinge.forces_n(circle_m);
            band.holding_n = band.holding_n.max(holding_n);
            if band.pulling_n.is_some_and(|most_n| pulling_n > most_n) {
                band.joint = Some(place - mechanism.hooks);
                band.pulling_n = Some(pulling_n).filter(|force_n| force_n.is_finite());
            }
        }
        band
    }
}

struct Hinge {
    moment_nm: f64,
    lever_m: f64,
    weight_n: f64,
    down_z: f64,
}

impl Hinge {
    /// Both roots; the greater infinite where the friction grows faster with the force than the
    /// chain's moment.
    fn forces_n(&self, circle_m: f64) -> [f64; 2] {
        let (moment, lever, weight) = (self.moment_nm, self.lever_m, self.weight_n);
        if circle_m == 0.0 {
            return [moment / lever; 2];
        }
        let square = circle_m * circle_m;
        let grip = lever * lever - square;
        if grip <= 0.0 {
            return [0.0, f64::INFINITY];
        }
        let middle = lever * moment + square * weight * self.down_z;
        let rest = moment * moment - square * weight * weight;
        let root = (middle * middle - grip * rest).max(0.0).sqrt();
        [(middle - root) / grip, (middle + root) / grip]
    }
}
