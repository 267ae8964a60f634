//! How do bodies that hang from each other turn under weights and a dead wind load?
//!
//! Each body turns about its upper hinge, the top one about its pick; with everything below it hung
//! at its lower hinge, the turning moment on body b turned by δ from where it was is
//! τ_b = C_b cos δ + S_b sin δ, C = −W x_G − Σ F z, S = W z_G − Σ F x with lengths from the hinge.
//! Bodies that are locked, or pressed on a stop, turn as one group, at rest at
//! δ = atan2(ΣC, −ΣS). Joints free between their open limit and their stop are found by an active
//! set: the potential energy is a sum of one sinusoid a body, so that every step has a closed form
//! and what rests is in balance to rounding.

use crate::pose::Vec2;
use nalgebra::Rotation2;

/// One cabinet with what is locked to it: its upper hinge, weights and wind forces.
#[derive(Clone, Debug)]
pub(super) struct Body {
    pub hinge_m: Vec2,
    pub weights: Vec<(Vec2, f64)>,
    pub wind: Vec<(Vec2, f64)>,
}

/// The bodies' turning moments C cos δ + S sin δ, and the joints between them.
pub(super) struct Chain<'a> {
    moments: Vec<[f64; 2]>,
    pivots_m: Vec<Vec2>,
    ranges: &'a [[f64; 2]],
    top_is_held: bool,
}

/// How the bodies came to rest.
pub(super) struct Rest {
    pub turn_rad: Vec<f64>,
    pub joint_moment_nm: Vec<f64>,
}

/// The bodies where they came to rest, the first one's pick in its place.
pub(super) fn turned(bodies: &[Body], pick: Vec2, rest: &Rest) -> Vec<Body> {
    let mut found = Vec::with_capacity(bodies.len());
    let mut pivot = pick;
    for (index, body) in bodies.iter().enumerate() {
        let from = if index == 0 { pick } else { body.hinge_m };
        let turn = Rotation2::new(rest.turn_rad[index]);
        let place = |at: Vec2| pivot + turn * (at - from);
        let moved = |forces: &[(Vec2, f64)]| {
            let forces = forces.iter();
            forces.map(|&(at, force)| (place(at), force)).collect()
        };
        found.push(Body {
            hinge_m: place(body.hinge_m),
            weights: moved(&body.weights),
            wind: moved(&body.wind),
        });
        if let Some(next) = bodies.get(index + 1) {
            pivot = place(next.hinge_m);
        }
    }
    found
}

/// What a joint does in the active set.
#[derive(Clone, Copy, PartialEq)]
enum Joint {
    Free,
    At(f64),
}

impl<'a> Chain<'a> {
    pub fn new(bodies: &[Body], pick: Vec2, top_is_held: bool, ranges: &'a [[f64; 2]]) -> Self {
        let mut pivots_m: Vec<Vec2> = bodies.iter().map(|body| body.hinge_m).collect();
        pivots_m[0] = pick;
        let (mut below_n, mut below_wind_n) = (0.0, 0.0);
        let mut moments = vec![[0.0; 2]; bodies.len()];
        for index in (0..bodies.len()).rev() {
            let body = &bodies[index];
            let (mut cosine, mut sine) = (0.0, 0.0);
            let mut add = |at: Vec2, weight: f64, wind: f64| {
                let arm = at - pivots_m[index];
                cosine += -weight * arm.x - wind * arm.y;
                sine += weight * arm.y - wind * arm.x;
            };
            for &(at, weight) in &body.weights {
                add(at, weight, 0.0);
            }
            for &(at, wind) in &body.wind {
                add(at, 0.0, wind);
            }
            if let Some(next) = bodies.get(index + 1) {
                add(next.hinge_m, below_n, below_wind_n);
            }
            below_n += body.weights.iter().map(|(_, weight)| weight).sum::<f64>();
            below_wind_n += body.wind.iter().map(|(_, wind)| wind).sum::<f64>();
            moments[index] = [cosine, sine];
        }
        Self {
            moments,
            pivots_m,
            ranges,
            top_is_held,
        }
    }

    /// Turns at rest, from all joints on their stops.
    pub fn rest(&self) -> Rest {
        let count = self.moments.len();
        let mut joints = vec![Joint::At(0.0); count - 1];
        let mut turn_rad = vec![0.0; count];
        let scale: f64 = self.moments.iter().map(|[c, s]| c.hypot(*s)).sum();
        for _ in 0..20 * count + 20 {
            let target = self.group_turns(&joints);
            // How far towards the target until a free joint meets the end of its range.
            let mut step = 1.0;
            let mut met = None;
            for (joint, &[low, high]) in self.ranges.iter().enumerate() {
                if joints[joint] != Joint::Free {
                    continue;
                }
                let here = turn_rad[joint] - turn_rad[joint + 1];
                let change = target[joint] - target[joint + 1] - here;
                for end in [low, high] {
                    let beyond = here + change - end;
                    let is_beyond = if end == low {
                        beyond < 0.0
                    } else {
                        beyond > 0.0
                    };
                    if is_beyond && change != 0.0 && (end - here) / change < step {
                        step = ((end - here) / change).max(0.0);
                        met = Some((joint, end));
                    }
                }
            }
            for (turn, target) in turn_rad.iter_mut().zip(&target) {
                *turn += step * (target - *turn);
            }
            if let Some((joint, end)) = met {
                joints[joint] = Joint::At(end);
                continue;
            }
            let below = self.moments_below(&turn_rad);
            let pulling = (0..count - 1)
                .filter(|&joint| {
                    let [low, high] = self.ranges[joint];
                    low < high
                        && match joints[joint] {
                            Joint::Free => false,
                            Joint::At(end) if end == high => below[joint] > 1e-12 * scale,
                            Joint::At(_) => below[joint] < -1e-12 * scale,
                        }
                })
                .max_by(|&a, &b| below[a].abs().total_cmp(&below[b].abs()));
            match pulling {
                Some(joint) => joints[joint] = Joint::Free,
                None => break,
            }
        }
        Rest {
            joint_moment_nm: self.moments_below(&turn_rad),
            turn_rad,
        }
    }

    /// Turns at which every group of bodies held together is at rest.
    fn group_turns(&self, joints: &[Joint]) -> Vec<f64> {
        let count = self.moments.len();
        let mut turns = vec![0.0; count];
        let mut first = 0;
        while first < count {
            let mut last = first;
            let mut offset = 0.0;
            let (mut cosine, mut sine) = (0.0, 0.0);
            let mut offsets = Vec::new();
            loop {
                let [c, s] = self.moments[last];
                cosine += c * f64::cos(offset) + s * f64::sin(offset);
                sine += s * f64::cos(offset) - c * f64::sin(offset);
                offsets.push(offset);
                match joints.get(last) {
                    Some(Joint::At(end)) => offset -= end,
                    _ => break,
                }
                last += 1;
            }
            let lead = if first == 0 && self.top_is_held {
                0.0
            } else {
                cosine.atan2(-sine)
            };
            for (body, offset) in offsets.iter().enumerate() {
                turns[first + body] = lead + offset;
            }
            first = last + 1;
        }
        turns
    }

    /// Moment about each joint of all that hangs below, turning up and so opening the rear.
    fn moments_below(&self, turn_rad: &[f64]) -> Vec<f64> {
        let count = self.moments.len();
        let mut below = vec![0.0; count - 1];
        let mut sum = 0.0;
        for joint in (0..count - 1).rev() {
            let [c, s] = self.moments[joint + 1];
            let turn = turn_rad[joint + 1];
            sum += c * turn.cos() + s * turn.sin();
            below[joint] = sum;
        }
        below
    }

    /// Pulls of the lines that hold the hang at rest.
    pub fn pulls(
        &self,
        rest: &Rest,
        held: &[usize],
        picks_m: &[Vec2],
        bodies: &[Body],
        weight_n: f64,
        wind_n: f64,
    ) -> Vec<f64> {
        let resultant = weight_n.hypot(wind_n);
        let [first, second] = *held else {
            return vec![resultant];
        };
        // Moment of everything about the first pick, at rest.
        let turning: f64 = (0..bodies.len())
            .map(|body| {
                let [c, s] = self.moments[body];
                let turn = rest.turn_rad[body];
                c * turn.cos() + s * turn.sin()
            })
            .sum();
        debug_assert_eq!(self.pivots_m[0], picks_m[first]);
        let along = Vec2::new(-wind_n, weight_n) / resultant;
        let arm = picks_m[second] - picks_m[first];
        let second_n = -turning / (arm.x * along.y - arm.y * along.x);
        vec![resultant - second_n, second_n]
    }
}
