//! Energy, chain length and their derivatives at given joint angles.
//!
//! With M_j the mass below hinge h_j, c_j its centre of gravity, p the next point of the string
//! below joint j, u the string's direction down past the joint, k_j = −u·(p − h_j):
//!
//! - U = Σ m g z, ∂U/∂θ_j = g M_j (h_j − c_j)_x, ∂²U/∂θ_i∂θ_j = g M_j (h_j − c_j)_z for i ≤ j
//! - L = Σ |straight parts|, ∂L/∂θ_j = −(p − h_j) × u, and for i ≤ j of one straight part of length
//!   l, ∂²L/∂θ_i∂θ_j = k_j + k_i k_j / l
//!
//! A joint turns all below it, so a straight part's length depends only on the joints it passes.

use super::mechanism::Mechanism;
use super::string::{Touch, cross, stretch_to};
use crate::pose::Vec2;
use crate::statics::balance::GRAVITY_M_S2;
use nalgebra::Rotation2;

/// The mechanism at one set of angles.
#[derive(Clone, Debug, Default)]
pub(crate) struct State {
    /// Joint angles.
    pub angle_rad: Vec<f64>,
    /// Hinges of the joints.
    pub hinge_m: Vec<Vec2>,
    /// Σ m r of all below each joint.
    pub below_moment: Vec<Vec2>,
    /// Mass of all below each joint.
    pub below_kg: Vec<f64>,
    /// Direction of the string past each joint, downwards.
    pub direction: Vec<Vec2>,
    /// Points the string runs through, anchors included.
    pub string: Vec<Touch>,
    /// U, referred to the hinge of joint 0.
    pub energy_j: f64,
    /// L.
    pub chain_m: f64,
    /// ∂U/∂θ.
    pub gravity_nm: Vec<f64>,
    /// ∂L/∂θ, the chain's levers with a minus.
    pub lever_m: Vec<f64>,
    part: Vec<usize>,
    gravity_curve: Vec<f64>,
    chain_curve: Vec<f64>,
    part_m: Vec<f64>,
    origin_m: Vec<Vec2>,
    turn: Vec<Rotation2<f64>>,
    /// Each joint's own turn, with the angle it was computed for.
    joint_turn: Vec<(f64, Rotation2<f64>)>,
}

impl State {
    /// The mechanism at `angle_rad`.
    pub fn at(mechanism: &Mechanism, angle_rad: &[f64]) -> Self {
        let mut state = Self {
            angle_rad: angle_rad.to_vec(),
            ..Self::default()
        };
        state.update(mechanism);
        state
    }

    /// Computes all else anew after `angle_rad` has changed.
    pub fn update(&mut self, mechanism: &Mechanism) {
        self.place(mechanism);
        self.weigh(mechanism);
        self.pull_taut(mechanism);
        self.measure_string();
    }

    fn place(&mut self, mechanism: &Mechanism) {
        self.origin_m.clear();
        self.turn.clear();
        self.hinge_m.clear();
        self.joint_turn
            .resize(self.angle_rad.len(), (0.0, Rotation2::identity()));
        let mut turn = Rotation2::new(mechanism.base_rad);
        let mut origin = Vec2::zeros();
        self.origin_m.push(origin);
        self.turn.push(turn);
        let joints = self.angle_rad.iter().zip(&mut self.joint_turn);
        for (body, (&angle, own)) in mechanism.bodies.iter().zip(joints) {
            origin += turn * body.lower_hinge_m;
            if own.0 != angle {
                *own = (angle, Rotation2::new(-angle));
            }
            turn *= own.1;
            self.hinge_m.push(origin);
            self.origin_m.push(origin);
            self.turn.push(turn);
        }
    }

    fn weigh(&mut self, mechanism: &Mechanism) {
        let joints = mechanism.joints();
        self.below_kg.clear();
        self.below_kg.resize(joints, 0.0);
        self.below_moment.clear();
        self.below_moment.resize(joints, Vec2::zeros());
        self.gravity_nm.clear();
        self.gravity_nm.resize(joints, 0.0);
        self.gravity_curve.clear();
        self.gravity_curve.resize(joints, 0.0);
        let mut mass = 0.0;
        let mut moment = Vec2::zeros();
        for joint in (0..joints).rev() {
            let body = &mechanism.bodies[joint + 1];
            mass += body.mass_kg;
            moment += self.point(joint + 1, body.cg_m) * body.mass_kg;
            let arm = self.hinge_m[joint] * mass - moment;
            self.below_kg[joint] = mass;
            self.below_moment[joint] = moment;
            self.gravity_nm[joint] = GRAVITY_M_S2 * arm.x;
            self.gravity_curve[joint] = GRAVITY_M_S2 * arm.y;
        }
        self.energy_j = GRAVITY_M_S2 * moment.y;
    }

    fn pull_taut(&mut self, mechanism: &Mechanism) {
        let mut string = std::mem::take(&mut self.string);
        string.clear();
        string.push(Touch {
            body: mechanism.hooks,
            point_m: self.point(mechanism.hooks, mechanism.upper_anchor_m),
        });
        let mut waiting: Option<Touch> = None;
        for (index, body) in mechanism.bodies.iter().enumerate() {
            for edge in body.rear_edges_m.iter().flatten() {
                let touch = Touch {
                    body: index,
                    point_m: self.point(index, *edge),
                };
                match waiting.replace(touch) {
                    Some(above) if above.body != index && self.overlap(above, touch) => {
                        waiting = None;
                    }
                    Some(above) => stretch_to(&mut string, above),
                    None => (),
                }
            }
        }
        if let Some(lowest) = waiting {
            stretch_to(&mut string, lowest);
        }
        let last = mechanism.bodies.len() - 1;
        let end = Touch {
            body: last,
            point_m: self.point(last, mechanism.lower_anchor_m),
        };
        stretch_to(&mut string, end);
        self.string = string;
    }

    /// Whether edge `below` lies above edge `above`, seen along the body of `above`. Two such boxes
    /// would run into each other; real ones are cut back to where their rear faces meet, and that
    /// hollow corner is out of the string's reach.
    fn overlap(&self, above: Touch, below: Touch) -> bool {
        let up = self.turn[above.body] * Vec2::new(0.0, 1.0);
        (below.point_m - above.point_m).dot(&up) > 0.0
    }

    fn measure_string(&mut self) {
        let joints = self.angle_rad.len();
        for list in [&mut self.lever_m, &mut self.chain_curve, &mut self.part_m] {
            list.clear();
            list.resize(joints, 0.0);
        }
        self.direction.clear();
        self.direction.resize(joints, Vec2::zeros());
        self.part.clear();
        self.part.resize(joints, usize::MAX);
        self.chain_m = 0.0;
        for (part, ends) in self.string.windows(2).enumerate() {
            let way = ends[1].point_m - ends[0].point_m;
            let length = way.norm();
            self.chain_m += length;
            let down = if length > 0.0 {
                way / length
            } else {
                Vec2::new(0.0, -1.0)
            };
            for joint in ends[0].body..ends[1].body {
                let arm = ends[1].point_m - self.hinge_m[joint];
                self.part[joint] = part;
                self.direction[joint] = down;
                self.lever_m[joint] = -cross(arm, down);
                self.chain_curve[joint] = -down.dot(&arm);
                self.part_m[joint] = length;
            }
        }
    }

    /// A point of body `body` in room axes, the origin at body 0's upper hinge.
    pub fn point(&self, body: usize, point: Vec2) -> Vec2 {
        self.origin_m[body] + self.turn[body] * point
    }

    /// A body's own x and z directions in room axes.
    pub fn axes(&self, body: usize) -> [Vec2; 2] {
        [Vec2::x(), Vec2::y()].map(|axis| self.turn[body] * axis)
    }

    /// ∂V/∂θ_j of V = U + T L.
    pub fn slope_nm(&self, joint: usize, force_n: f64) -> f64 {
        self.gravity_nm[joint] + force_n * self.lever_m[joint]
    }

    /// ∂²V/∂θ_i∂θ_j of V = U + T L.
    pub fn curvature_nm(&self, a: usize, b: usize, force_n: f64) -> f64 {
        let lower = a.max(b);
        let mut curvature = self.gravity_curve[lower];
        if self.part[a] == self.part[b] && self.part[lower] != usize::MAX {
            let bend = self.chain_curve[a] * self.chain_curve[b] / self.part_m[lower];
            curvature += force_n * (self.chain_curve[lower] + bend);
        }
        curvature
    }
}
