//! What do the left and the right side of each joint carry?
//!
//! Cut joint j. All below is at rest under weights, side forces and the chain, or two of them. In the
//! hang's own axes, x forward, y left, z up, the sum over both sides follows from the hang's plane
//! (see [`super::joints`] and the closed hang). What is left are the moments M_x and M_z about the
//! middle of the hinges. Hinges a apart and links b apart, of directions u, hold them by differences:
//! left half sum + h or s, right half sum − h or s,
//!
//! a h_z − b u_z s + M_x = 0 and −a h_x + b u_x s + M_z = 0.
//!
//! That is two equations for three unknowns; the third is how stiff hinges and links are. With the
//! bodies rigid and turned by ρ about x and ψ about z, h = k_h a/2 (ψ, −ρ), s = k_l b/2 (u_z ρ − u_x ψ).
//! A one-sided stop that would pull lifts off: its side carries nothing, the other all.
//!
//! Source: equilibrium and compatibility of a rigid body on springs, any statics textbook.

use super::closing::ClosedState;
use super::joints::link_line;
use super::limits::{Case, FactorUse, LimitTable, Part, Side, SidePart, joint_limits};
use crate::error::{
    InputError, Result, accept, each, finite, non_negative, positive, within_range,
};
use crate::model::{Hang, Rigging};
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use crate::pose::{Hanging, Pose, Vec2};
use nalgebra::{Matrix2, Vector2, Vector3};

/// A hang whose sides are not alike.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "python", derive(pyo3::FromPyObject), pyo3(from_item_all))]
pub struct SidesInput {
    /// Lean across the hang's plane, the lower end to the left positive.
    pub lean_deg: f64,
    /// How far left of the middle each cabinet's centre of gravity lies.
    pub cg_y_m: Vec<f64>,
    /// Forces along x and y at the middle of each cabinet, as of wind.
    pub force_n: Vec<[f64; 2]>,
    /// Distance between left and right hinges, links and closing chains; of one chain in the middle 0.
    pub hinge_spacing_m: f64,
    /// As above.
    pub link_spacing_m: f64,
    /// As above.
    pub chain_spacing_m: f64,
    /// Force of both chains together; `None` is what closes the hang.
    pub chain_force_n: Option<f64>,
    /// The left chain's share of it.
    pub left_share: f64,
    /// Stiffness of a rear link over that of a hinge.
    pub link_over_hinge: f64,
}

/// Both sides of every joint, top to bottom, left first.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sides {
    /// Chain force left and right.
    pub chain_force_n: [f64; 2],
    /// Force of the rear links or stops, compression positive.
    pub stop_n: Vec<[f64; 2]>,
    /// Force of the hinges on the body below, (x, z).
    pub hinge_n: Vec<[Vec2; 2]>,
    /// Force across the hang that both hinges carry together.
    pub shear_n: Vec<f64>,
    /// Moments about the hinges' middle, roll about x and pan about z, that the sides hold.
    pub roll_nm: Vec<f64>,
    /// As above.
    pub pan_nm: Vec<f64>,
    /// Whether one side's stop has lifted off.
    pub lifted: Vec<bool>,
    /// Every part against half the limit stated for both sides, a chain against that of a chain.
    pub limits: LimitTable,
}

/// The sides of `hang` pinned, or closed.
///
/// # Errors
/// A list of another length than cabinets, a spacing or a ratio out of range, a rear link through its
/// hinge, or a compression hang with no chain, or with one that does not close it.
pub fn sides(hanging: &Hanging<'_>, input: &SidesInput) -> Result<Sides> {
    let hang = hanging.hang;
    let placed = check(hanging, input)?;
    let closes = hang.rigging == Rigging::Compression;
    let (tilt_rad, splays) = (placed.frame_axis_rad, &hang.splays_deg);
    let mut mechanism = if closes {
        Mechanism::new(hang, splays, tilt_rad, TopJoint::Locked)?
    } else {
        Mechanism::of(hang, splays, tilt_rad, TopJoint::Locked)
    };
    let (sine, cosine) = input.lean_deg.to_radians().sin_cos();
    let gravity_m_s2 = mechanism.gravity_m_s2;
    mechanism.gravity_m_s2 *= cosine;
    for (index, cabinet) in hang.cabinets.iter().enumerate() {
        let [along, across] = input.force_n[index];
        let body = &mut mechanism.bodies[index + 1];
        // The hang's own axes lean, so a force across it has a part along its height.
        let pushed = Vec2::new(along, -across * sine);
        body.push_at_m = Vec2::new(
            -cabinet.depth_m / 2.0 - cabinet.hinge_x_m,
            -cabinet.height_m / 2.0,
        );
        body.push_n = pushed;
    }
    let state = State::closed(&mechanism);
    let closing = ClosedState::of(&mechanism, &state);
    let chain_force_n = match (closes, input.chain_force_n) {
        (false, _) => 0.0,
        (true, Some(force_n)) => {
            let least_n = closing.force_n().unwrap_or(f64::INFINITY);
            accept(
                force_n >= least_n * (1.0 - 1e-12),
                "chain_force_n",
                force_n,
                format!("at least what closes the hang, {least_n}"),
            )?;
            force_n
        }
        (true, None) => closing.force_n().ok_or_else(|| {
            InputError::new("hang", closing.name(), "a hang that a chain force closes")
        })?,
    };
    let joints = state.joint_forces(&mechanism, chain_force_n);
    let mut found = Sides {
        chain_force_n: [
            chain_force_n * input.left_share,
            chain_force_n * (1.0 - input.left_share),
        ],
        ..Sides::default()
    };
    let chain_y_m = input.chain_spacing_m / 2.0 * (found.chain_force_n[0] - found.chain_force_n[1]);
    for joint in 0..hang.joint_count() {
        let placed_joint = state.placed_joint(&mechanism, joint);
        let hinge = placed_joint.hinge_m;
        let Some((link, _)) = link_line(&placed_joint) else {
            return Err(InputError::new(
                &format!("joint {joint}"),
                "a rear link in line with its hinge",
                "a rear link that passes the hinge at a distance",
            ));
        };
        let mut moment = Vector3::zeros();
        let mut shear_n = 0.0;
        for body in joint + 1..mechanism.bodies.len() {
            let part = &mechanism.bodies[body];
            let weight_n = part.mass_kg * gravity_m_s2;
            let at = state.point(body, part.cg_m) - hinge;
            let cabinet = body.checked_sub(1).filter(|&i| i < hang.cabinets.len());
            // Only the cabinet's own mass lies off the middle; what hangs on it does not.
            let moved_nm = cabinet.map_or(0.0, |i| {
                input.cg_y_m[i] * hang.cabinets[i].mass_kg * gravity_m_s2
            });
            let across_n = -weight_n * sine;
            shear_n -= across_n;
            moment += Vector3::new(-moved_nm * cosine - at.y * across_n, 0.0, at.x * across_n);
            if let Some(i) = cabinet {
                let at = state.point(body, part.push_at_m) - hinge;
                let across_n = input.force_n[i][1] * cosine;
                shear_n -= across_n;
                moment += Vector3::new(-at.y * across_n, 0.0, at.x * across_n);
            }
        }
        if chain_force_n > 0.0 {
            let down = state.direction[joint];
            // The chain pulls what is below back up along its line.
            moment += Vector3::new(-chain_y_m * down.y, 0.0, chain_y_m * down.x);
        }
        let sums = Sums {
            hinge_n: joints.hinge_force_n[joint],
            stop_n: joints.stop_force_n[joint],
            link,
            one_sided: mechanism.closes(joint),
            roll_nm: moment.x,
            pan_nm: moment.z,
        };
        let split = sums.split(input);
        found.stop_n.push(split.stop_n);
        found.hinge_n.push(split.hinge_n);
        found.shear_n.push(shear_n);
        found.roll_nm.push(moment.x);
        found.pan_nm.push(moment.z);
        found.lifted.push(split.lifted);
    }
    found.add_limits(hang, closes);
    Ok(found)
}

fn check(hanging: &Hanging<'_>, input: &SidesInput) -> Result<Pose> {
    let hang = hanging.hang;
    let count = hang.cabinets.len();
    within_range("lean_deg", input.lean_deg, -45.0, 45.0)?;
    for (field, length) in [
        ("cg_y_m", input.cg_y_m.len()),
        ("force_n", input.force_n.len()),
    ] {
        accept(
            length == count,
            field,
            format!("{length} rows"),
            format!("{count}, one per cabinet"),
        )?;
    }
    each("cg_y_m", &input.cg_y_m, finite)?;
    for (index, force) in input.force_n.iter().enumerate() {
        each(&format!("force_n[{index}]"), force, finite)?;
    }
    positive("hinge_spacing_m", input.hinge_spacing_m)?;
    positive("link_spacing_m", input.link_spacing_m)?;
    non_negative("chain_spacing_m", input.chain_spacing_m)?;
    if let Some(force_n) = input.chain_force_n {
        non_negative("chain_force_n", force_n)?;
    }
    within_range("left_share", input.left_share, 0.0, 1.0)?;
    positive("link_over_hinge", input.link_over_hinge)?;
    hanging.pose()
}

/// What both sides of a joint carry together.
struct Sums {
    hinge_n: Vec2,
    stop_n: f64,
    link: Vec2,
    one_sided: bool,
    roll_nm: f64,
    pan_nm: f64,
}

struct Split {
    stop_n: [f64; 2],
    hinge_n: [Vec2; 2],
    lifted: bool,
}

impl Sums {
    fn split(&self, input: &SidesInput) -> Split {
        let (a, b) = (input.hinge_spacing_m, input.link_spacing_m);
        let (u, ratio) = (self.link, input.link_over_hinge);
        // Per unit of hinge stiffness, ρ and ψ.
        let hinges = a * a / 2.0;
        let links = ratio * b * b / 2.0;
        let matrix = Matrix2::new(
            hinges + links * u.y * u.y,
            -links * u.x * u.y,
            -links * u.x * u.y,
            hinges + links * u.x * u.x,
        );
        // Both diagonals hold hinges > 0, so the matrix is positive.
        let turn = matrix.try_inverse().map_or(Vector2::zeros(), |inverse| {
            inverse * Vector2::new(self.roll_nm, self.pan_nm)
        });
        let mut half = ratio * b / 2.0 * (u.y * turn.x - u.x * turn.y);
        let lifts = self.one_sided && half.abs() > self.stop_n / 2.0;
        if lifts {
            half = half.signum() * self.stop_n.max(0.0) / 2.0;
        }
        let h = Vec2::new(
            (self.pan_nm + b * u.x * half) / a,
            (b * u.y * half - self.roll_nm) / a,
        );
        Split {
            stop_n: [self.stop_n / 2.0 + half, self.stop_n / 2.0 - half],
            hinge_n: [self.hinge_n / 2.0 + h, self.hinge_n / 2.0 - h],
            lifted: lifts,
        }
    }
}

impl Sides {
    fn add_limits(&mut self, hang: &Hang, closes: bool) {
        let (case, factor) = (Case::SidesUnlike, FactorUse::NotAsked);
        let half = |limit_n: Option<f64>| limit_n.map(|limit| limit / 2.0);
        let chain_limit_n = hang.gear.as_ref().and_then(|gear| gear.limits.chain_n);
        for (index, side) in [Side::Left, Side::Right].into_iter().enumerate() {
            if closes {
                let part = Part::OneSide(side, SidePart::Chain);
                self.limits
                    .add(part, self.chain_force_n[index], chain_limit_n, case, factor);
            }
            for joint in 0..self.stop_n.len() {
                let limits = joint_limits(hang, joint);
                let hinge = self.hinge_n[joint][index];
                // Either hinge may have to carry all that goes across.
                let hinge_n = hinge.norm().hypot(self.shear_n[joint]);
                let stop_n = self.stop_n[joint][index];
                let rear = if stop_n >= 0.0 {
                    (SidePart::Stop(joint), stop_n, limits.stop_n)
                } else {
                    (SidePart::RearLink(joint), -stop_n, limits.rear_link_n)
                };
                for (part, force_n, limit_n) in
                    [(SidePart::Hinge(joint), hinge_n, limits.hinge_n), rear]
                {
                    let part = Part::OneSide(side, part);
                    self.limits.add(part, force_n, half(limit_n), case, factor);
                }
            }
        }
    }
}
