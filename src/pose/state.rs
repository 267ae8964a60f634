//! Energy, chain length and their derivatives at given joint angles.
//!
//! With M_j the mass below hinge h_j, c_j its centre of gravity, p the next point of the string
//! below joint j, u the string's direction down past the joint, k_j = −u·(p − h_j):
//!
//! - U = Σ m g z, ∂U/∂θ_j = g M_j (h_j − c_j)_x, ∂²U/∂θ_i∂θ_j = g M_j (h_j − c_j)_z for i ≤ j; a
//!   load F at r that keeps its direction adds −F·r, (r − h_j) × F and (r − h_j)·F
//! - L = Σ |straight parts|, ∂L/∂θ_j = −(p − h_j) × u, and for i ≤ j of one straight part of length
//!   l, ∂²L/∂θ_i∂θ_j = k_j + k_i k_j / l
//!
//! A joint turns all below it, so a straight part's length depends only on the joints it passes.

use super::mechanism::{Mechanism, Placed};
use super::plane::Vec2;
use super::string::{Touch, cross, stretch_to};
use super::turn::JointTurn;

/// The mechanism at one set of angles.
#[derive(Clone, Debug, Default)]
pub(crate) struct State {
    /// Joint angles.
    pub angle_rad: Vec<f64>,
    /// Σ m r of all below each joint.
    pub below_moment: Vec<Vec2>,
    /// Mass of all below each joint.
    pub below_kg: Vec<f64>,
    /// Loads besides the weight on all below each joint.
    pub below_push_n: Vec<Vec2>,
    /// Direction of the string past each joint, downwards.
    pub direction: Vec<Vec2>,
    /// Points the string runs through, anchors included.
    pub string: Vec<Touch>,
    /// U, referred to the hinge of joint 0.
    pub energy_j: f64,
    /// L.
    pub chain_m: f64,
    /// ∂U/∂θ.
    pub load_nm: Vec<f64>,
    /// ∂L/∂θ, the chain's levers with a minus.
    pub lever_m: Vec<f64>,
    gravity_curve: Vec<f64>,
    passing: Vec<Passing>,
    placed: Vec<Placed>,
    joint_turn: Vec<JointTurn>,
}

/// The straight part of the string that passes a joint.
#[derive(Clone, Copy, Debug, Default)]
struct Passing {
    part: Option<usize>,
    length_m: f64,
    /// k.
    curve: f64,
}

impl State {
    /// The mechanism at `angle_rad`.
    pub fn at(mechanism: &Mechanism, angle_rad: &[f64]) -> Self {
        let joints = mechanism.joints();
        let mut state = Self {
            angle_rad: angle_rad.to_vec(),
            below_moment: vec![Vec2::zeros(); joints],
            below_kg: vec![0.0; joints],
            below_push_n: vec![Vec2::zeros(); joints],
            direction: vec![Vec2::zeros(); joints],
            load_nm: vec![0.0; joints],
            lever_m: vec![0.0; joints],
            gravity_curve: vec![0.0; joints],
            passing: vec![Passing::default(); joints],
            placed: vec![Placed::default(); mechanism.bodies.len()],
            joint_turn: vec![JointTurn::default(); joints],
            ..Self::default()
        };
        state.update(mechanism);
        state
    }

    /// All joints of the hang on their stops, a frame on a hook at rest there.
    pub fn closed(mechanism: &Mechanism) -> Self {
        let stops = mechanism.travels.iter().map(|travel| travel.stop_rad);
        Self::plumb(mechanism, stops.collect())
    }

    /// The mechanism at `angle_rad`, a frame on a hook turned so that all below hangs plumb, as far
    /// as its tilt goes.
    pub fn plumb(mechanism: &Mechanism, mut angle_rad: Vec<f64>) -> Self {
        if mechanism.hooks == 0 {
            return Self::at(mechanism, &angle_rad);
        }
        angle_rad[0] = 0.0;
        let mut state = Self::at(mechanism, &angle_rad);
        let cg = state.below_moment[0];
        let travel = mechanism.travels[0];
        // θ = −φ turns the centre of gravity (x, z) plumb under the pick at φ = atan2(−x, −z).
        state.angle_rad[0] = cg.x.atan2(-cg.y).clamp(travel.open_rad, travel.stop_rad);
        state.update(mechanism);
        state
    }

    /// Computes all else anew after `angle_rad` has changed.
    pub fn update(&mut self, mechanism: &Mechanism) {
        let joints = self.angle_rad.iter().zip(&mut self.joint_turn);
        mechanism.place(joints.map(|(&angle, own)| own.to(-angle)), &mut self.placed);
        self.weigh(mechanism);
        self.pull_taut(mechanism);
        self.measure_string();
    }

    fn weigh(&mut self, mechanism: &Mechanism) {
        let mut mass = 0.0;
        let mut moment = Vec2::zeros();
        let mut push_n = Vec2::zeros();
        // Of the pushes about the origin: Σ r × F, and Σ r · F, their work.
        let (mut turning, mut work) = (0.0, 0.0);
        for joint in (0..self.angle_rad.len()).rev() {
            let body = &mechanism.bodies[joint + 1];
            let placed = &self.placed[joint + 1];
            mass += body.mass_kg;
            moment += placed.point(body.cg_m) * body.mass_kg;
            let at_m = placed.point(body.push_at_m);
            push_n += body.push_n;
            turning += at_m.perp(&body.push_n);
            work += at_m.dot(&body.push_n);
            let hinge = placed.origin_m;
            let arm = hinge * mass - moment;
            self.below_kg[joint] = mass;
            self.below_moment[joint] = moment;
            self.below_push_n[joint] = push_n;
            self.load_nm[joint] = mechanism.gravity_m_s2 * arm.x + turning - hinge.perp(&push_n);
            self.gravity_curve[joint] = mechanism.gravity_m_s2 * arm.y + work - hinge.dot(&push_n);
        }
        self.energy_j = mechanism.gravity_m_s2 * moment.y - work;
    }

    fn pull_taut(&mut self, mechanism: &Mechanism) {
        self.string.clear();
        self.string.push(Touch {
            body: mechanism.hooks,
            point_m: self.point(mechanism.hooks, mechanism.upper_anchor_m),
        });
        let mut waiting: Option<Touch> = None;
        for (index, (body, placed)) in mechanism.bodies.iter().zip(&self.placed).enumerate() {
            let touch = |edge: &Vec2| Touch {
                body: index,
                point_m: placed.point(*edge),
            };
            let [first, others @ ..] = body.rear_edges_m.places() else {
                continue;
            };
            let upper = touch(first);
            match waiting {
                // Two such boxes would run into each other; real ones are cut back to where their
                // rear faces meet, and that hollow corner is out of the string's reach. A frame's
                // corners stand beside a box.
                Some(above)
                    if above.body > mechanism.hooks
                        && index < mechanism.bodies.len() - 1
                        && self.lies_above(upper, above) => {}
                Some(above) => {
                    stretch_to(&mut self.string, above);
                    stretch_to(&mut self.string, upper);
                }
                None => stretch_to(&mut self.string, upper),
            }
            waiting = others.last().map(touch);
            for middle in others.iter().rev().skip(1).rev() {
                stretch_to(&mut self.string, touch(middle));
            }
        }
        if let Some(lowest) = waiting {
            stretch_to(&mut self.string, lowest);
        }
        let last = mechanism.bodies.len() - 1;
        let end = Touch {
            body: last,
            point_m: self.point(last, mechanism.lower_anchor_m),
        };
        stretch_to(&mut self.string, end);
    }

    /// Whether edge `below` lies above edge `above`, seen along the body of `above`.
    fn lies_above(&self, below: Touch, above: Touch) -> bool {
        let [_, up] = self.axes(above.body);
        (below.point_m - above.point_m).dot(&up) > 0.0
    }

    fn measure_string(&mut self) {
        self.chain_m = 0.0;
        let mut next = 0;
        for (part, ends) in self.string.windows(2).enumerate() {
            let way = ends[1].point_m - ends[0].point_m;
            let length_m = way.norm();
            self.chain_m += length_m;
            let down = if length_m > 0.0 {
                way / length_m
            } else {
                Vec2::new(0.0, -1.0)
            };
            for joint in ends[0].body..ends[1].body {
                let arm = ends[1].point_m - self.placed[joint + 1].origin_m;
                self.direction[joint] = down;
                self.lever_m[joint] = -cross(arm, down);
                self.passing[joint] = Passing {
                    part: Some(part),
                    length_m,
                    curve: -down.dot(&arm),
                };
            }
            next = ends[1].body;
        }
        debug_assert_eq!(next, self.angle_rad.len());
    }

    /// Hinge of a joint.
    pub fn hinge_m(&self, joint: usize) -> Vec2 {
        self.placed[joint + 1].origin_m
    }

    /// A point of body `body` in room axes, the origin at body 0's upper hinge.
    pub fn point(&self, body: usize, point: Vec2) -> Vec2 {
        self.placed[body].point(point)
    }

    /// A point in room axes seen from body `body`.
    pub fn own(&self, body: usize, point_m: Vec2) -> Vec2 {
        let placed = &self.placed[body];
        placed.turn.inverse() * (point_m - placed.origin_m)
    }

    /// A body's own x and z directions in room axes.
    pub fn axes(&self, body: usize) -> [Vec2; 2] {
        let turn = self.placed[body].turn;
        [Vec2::new(turn.re, turn.im), Vec2::new(-turn.im, turn.re)]
    }

    /// ∂V/∂θ_j of V = U + T L.
    pub fn slope_nm(&self, joint: usize, force_n: f64) -> f64 {
        self.load_nm[joint] + force_n * self.lever_m[joint]
    }

    /// ∂²V/∂θ_i∂θ_j of V = U + T L.
    pub fn curvature_nm(&self, a: usize, b: usize, force_n: f64) -> f64 {
        let lower = a.max(b);
        let mut curvature = self.gravity_curve[lower];
        if self.same_part(a, b) {
            let bend = self.chain_curve(a) * self.chain_curve(b) / self.part_m(lower);
            curvature += force_n * (self.chain_curve(lower) + bend);
        }
        curvature
    }

    /// ∂²U/∂θ_j².
    pub fn gravity_curve(&self, joint: usize) -> f64 {
        self.gravity_curve[joint]
    }

    /// k of the part of the string that passes the joint; zero where none does.
    pub fn chain_curve(&self, joint: usize) -> f64 {
        self.passing[joint].curve
    }

    /// Length of that part, never quite zero.
    pub fn part_m(&self, joint: usize) -> f64 {
        self.passing[joint].length_m.max(1e-12)
    }

    /// Whether one straight part of the string passes both joints.
    pub fn same_part(&self, a: usize, b: usize) -> bool {
        let part = self.passing[a].part;
        part.is_some() && part == self.passing[b].part
    }
}
