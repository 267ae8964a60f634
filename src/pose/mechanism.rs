//! The hang reduced to a planar mechanism: rigid bodies in a row, joined by front hinges.
//!
//! Joint j joins body j to body j+1 at hinge h_j, and its angle θ_j turns all bodies below:
//! φ_{j+1} = φ_j − θ_j. Body 0 stands still: the fly frame where it is held, or else a hook at the
//! pick that the frame turns on, with joint 0 between hook and frame.
//! Positions: h_j = h_{j−1} + R(φ_j) o_j with o_j the way from body j's upper to its lower hinge.

use super::plane::Vec2;
use super::rear::RearEdges;
use nalgebra::UnitComplex;

/// How joint 0, between fly frame and cabinet 0, is held at its rear.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TopJoint {
    /// A link that carries tension and compression.
    #[default]
    Locked,
    /// A stop that carries compression only, so that the joint can open.
    Stop,
}

/// Range of a joint's angle, closing upwards. Nothing to go between the two is a locked joint.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Travel {
    /// Angle at the open limit.
    pub open_rad: f64,
    /// Angle at the stop.
    pub stop_rad: f64,
}

impl Travel {
    /// Whether the joint has any way to go.
    pub fn moves(&self) -> bool {
        self.stop_rad > self.open_rad
    }
}

/// A rigid body in a frame with its origin at its upper front hinge.
#[derive(Clone, Debug)]
pub(crate) struct Body {
    pub mass_kg: f64,
    pub cg_m: Vec2,
    /// A load besides the weight that keeps its direction, and where on the body it acts.
    pub push_n: Vec2,
    pub push_at_m: Vec2,
    /// Lower front hinge.
    pub lower_hinge_m: Vec2,
    /// Rear edges that the chain may touch, top to bottom.
    pub rear_edges_m: RearEdges,
    /// Rear link pins of the joints above and below.
    pub rear_pins_m: [Vec2; 2],
}

impl Body {
    /// Hangs a mass on it.
    pub fn add(&mut self, mass_kg: f64, at_m: Vec2) {
        self.mass_kg += mass_kg;
        self.cg_m += (at_m - self.cg_m) * (mass_kg / self.mass_kg);
    }
}

/// The hang as bodies, joints and chain ends: fly frame, cabinets, bottom frame.
#[derive(Clone, Debug)]
pub(crate) struct Mechanism {
    pub bodies: Vec<Body>,
    pub travels: Vec<Travel>,
    /// Joints above the hang's joint 0: one where the frame turns on a hook.
    pub hooks: usize,
    /// Upper chain end, in the fly frame.
    pub upper_anchor_m: Vec2,
    /// Lower chain end, in the last body.
    pub lower_anchor_m: Vec2,
    /// Elevation of body 0.
    pub base_rad: f64,
    /// Acceleration of free fall.
    pub gravity_m_s2: f64,
}

impl Mechanism {
    /// The same hang with its frame turning on a pick of the frame, its tilt within `tilt_rad`.
    pub fn on_hook(mut self, pick_m: Vec2, tilt_rad: [f64; 2]) -> Self {
        let frame = &mut self.bodies[0];
        for point in [
            &mut frame.cg_m,
            &mut frame.push_at_m,
            &mut frame.lower_hinge_m,
        ] {
            *point -= pick_m;
        }
        for pin in &mut frame.rear_pins_m {
            *pin -= pick_m;
        }
        frame.rear_edges_m.shift(-pick_m);
        self.upper_anchor_m -= pick_m;
        let hook = Body {
            mass_kg: 0.0,
            cg_m: Vec2::zeros(),
            push_n: Vec2::zeros(),
            push_at_m: Vec2::zeros(),
            lower_hinge_m: Vec2::zeros(),
            rear_edges_m: RearEdges::default(),
            rear_pins_m: [Vec2::zeros(); 2],
        };
        self.bodies.insert(0, hook);
        let [lowest, highest] = tilt_rad;
        self.travels.insert(
            0,
            Travel {
                open_rad: -highest,
                stop_rad: -lowest,
            },
        );
        self.hooks = 1;
        self.base_rad = 0.0;
        self
    }

    /// Locks every joint of the hang on its stop.
    pub fn lock_at_stops(&mut self) {
        for travel in &mut self.travels[self.hooks..] {
            travel.open_rad = travel.stop_rad;
        }
    }

    /// Whether a joint is one that the chain closes.
    pub fn closes(&self, joint: usize) -> bool {
        joint >= self.hooks && self.travels[joint].moves()
    }

    /// Number of joints, locked ones included.
    pub fn joints(&self) -> usize {
        self.travels.len()
    }

    /// Places every body under `turns`, one per joint, body 0's upper hinge at the origin.
    pub fn place(&self, turns: impl Iterator<Item = UnitComplex<f64>>, placed: &mut [Placed]) {
        let mut here = Placed {
            origin_m: Vec2::zeros(),
            turn: UnitComplex::new(self.base_rad),
        };
        let (first, others) = placed.split_at_mut(1);
        first[0] = here;
        for ((placed, body), turn) in others.iter_mut().zip(&self.bodies).zip(turns) {
            here.origin_m = here.point(body.lower_hinge_m);
            here.turn *= turn;
            *placed = here;
        }
    }

    /// Way along the hinges from the top to the bottom, the size of the hang.
    pub fn length_m(&self) -> f64 {
        self.bodies
            .iter()
            .map(|body| body.lower_hinge_m.norm())
            .sum()
    }

    /// Sum of all loads.
    pub fn load_n(&self) -> f64 {
        let load_n = |body: &Body| self.gravity_m_s2 * body.mass_kg + body.push_n.norm();
        self.bodies.iter().map(load_n).sum()
    }
}

/// A body's upper hinge and its own axes.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Placed {
    pub origin_m: Vec2,
    pub turn: UnitComplex<f64>,
}

impl Placed {
    /// A point of the body.
    pub fn point(&self, point: Vec2) -> Vec2 {
        self.origin_m + self.turn * point
    }
}
