//! Where is every body of a hang at its pins?
//!
//! The `Mechanism` with every joint on its stop, moved to its height, and what is drawn of it.

use super::mechanism::{Mechanism, Placed, TopJoint};
use super::plane::Vec2;
use crate::model::Hang;
use nalgebra::UnitComplex;

/// A body's mass and the place of its centre of gravity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacedMass {
    /// Mass.
    pub mass_kg: f64,
    /// Centre of gravity in room axes.
    pub cg_m: Vec2,
}

/// A joint in room axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacedJoint {
    /// Front hinge.
    pub hinge_m: Vec2,
    /// Rear link pin on the body above.
    pub upper_pin_m: Vec2,
    /// Rear link pin on the body below.
    pub lower_pin_m: Vec2,
}

/// The hang in the vertical plane, room axes with the origin on the floor under the upper front
/// hinge of cabinet 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Pose {
    /// Elevation of the fly frame's axis.
    pub frame_axis_rad: f64,
    /// Elevation of each cabinet's axis.
    pub axis_rad: Vec<f64>,
    /// Middle of each cabinet's front face.
    pub front_m: Vec<Vec2>,
    /// Front hinges, from cabinet 0's upper to the last cabinet's lower: n+1 points.
    pub hinge_m: Vec<Vec2>,
    /// Corners of each cabinet: upper front, lower front, lower rear, upper rear.
    pub corners_m: Vec<[Vec2; 4]>,
    /// Joints, fixed ones included, top to bottom.
    pub joints: Vec<PlacedJoint>,
    /// Fly frame, cabinets, bottom frame if any, top to bottom.
    pub masses: Vec<PlacedMass>,
    /// Picks' holes of the fly frame.
    pub pick_m: Vec<Vec2>,
    /// Upper and lower end of the closing chain, where both frames have one.
    pub chain_m: Option<[Vec2; 2]>,
    /// Mass of everything hung, fly frame included.
    pub mass_kg: f64,
    /// Acceleration of free fall.
    pub gravity_m_s2: f64,
    /// Centre of gravity of everything hung.
    pub cg_m: Vec2,
    /// Height of the lowest point: cabinets' corners, the bottom frame's chain anchor and
    /// its rear corners.
    pub trim_m: f64,
}

impl Pose {
    /// Weight of everything hung.
    #[must_use]
    pub fn weight_n(&self) -> f64 {
        self.mass_kg * self.gravity_m_s2
    }
}

/// Places every body at the given angles between cabinets, which need not be pin positions.
/// `splays_deg` holds one angle fewer than there are cabinets; all inputs are finite.
pub(crate) fn place(hang: &Hang, splays_deg: &[f64], tilt_deg: f64, top_m: f64) -> Pose {
    let frame = &hang.frame;
    let mechanism = Mechanism::of(hang, splays_deg, tilt_deg.to_radians(), TopJoint::Locked);
    let mut bodies = vec![Placed::default(); mechanism.bodies.len()];
    let turns = mechanism.travels.iter();
    mechanism.place(
        turns.map(|travel| UnitComplex::new(-travel.stop_rad)),
        &mut bodies,
    );
    let top = Vec2::new(0.0, top_m);
    let point = |body: usize, at: Vec2| top + bodies[body].point(at);

    let cabinets = 1..=hang.cabinets.len();
    let hung = 0..bodies.len() - usize::from(hang.bottom.is_none());
    let mut axis_rad = mechanism.base_rad;
    let mut placed = Pose {
        frame_axis_rad: mechanism.base_rad,
        axis_rad: Vec::with_capacity(hang.cabinets.len()),
        front_m: Vec::with_capacity(hang.cabinets.len()),
        hinge_m: (1..bodies.len())
            .map(|body| point(body, Vec2::zeros()))
            .collect(),
        corners_m: Vec::with_capacity(hang.cabinets.len()),
        joints: (1..hung.end)
            .map(|body| PlacedJoint {
                hinge_m: point(body, Vec2::zeros()),
                upper_pin_m: point(body - 1, mechanism.bodies[body - 1].rear_pins_m[1]),
                lower_pin_m: point(body, mechanism.bodies[body].rear_pins_m[0]),
            })
            .collect(),
        masses: hung
            .map(|body| PlacedMass {
                mass_kg: mechanism.bodies[body].mass_kg,
                cg_m: point(body, mechanism.bodies[body].cg_m),
            })
            .collect(),
        pick_m: frame
            .pick_x_m
            .iter()
            .map(|&x| point(0, Vec2::new(x, frame.pick_z_m)))
            .collect(),
        chain_m: None,
        mass_kg: 0.0,
        gravity_m_s2: hang.gravity_m_s2,
        cg_m: top,
        trim_m: f64::INFINITY,
    };
    for (body, cabinet) in cabinets.zip(&hang.cabinets) {
        let half = cabinet.height_m / 2.0;
        let rear = cabinet.rear_height_m() / 2.0;
        let at = |x: f64, z: f64| point(body, Vec2::new(x - cabinet.hinge_x_m, z - half));
        let corners = [
            at(0.0, half),
            at(0.0, -half),
            at(-cabinet.depth_m, -rear),
            at(-cabinet.depth_m, rear),
        ];
        axis_rad -= mechanism.travels[body - 1].stop_rad;
        placed.trim_m = corners.iter().fold(placed.trim_m, |low, c| low.min(c.y));
        placed.corners_m.push(corners);
        placed.axis_rad.push(axis_rad);
        placed.front_m.push(at(0.0, 0.0));
    }
    if let Some(anchor) = hang
        .bottom
        .as_ref()
        .and_then(|bottom| bottom.chain_anchor_m)
    {
        let lower = point(bodies.len() - 1, anchor.into());
        placed.trim_m = placed.trim_m.min(lower.y);
        placed.chain_m = frame
            .chain_anchor_m
            .map(|upper| [point(0, upper.into()), lower]);
    }

    if let Some(bottom) = &hang.bottom {
        for &corner in &bottom.rear_outline_m {
            let corner = point(bodies.len() - 1, corner.into());
            placed.trim_m = placed.trim_m.min(corner.y);
        }
    }

    placed.mass_kg = placed.masses.iter().map(|body| body.mass_kg).sum();
    placed.cg_m = centre_of_gravity(&placed.masses);
    placed
}

/// Centre of gravity of several masses, Σ m r / Σ m.
#[must_use]
pub fn centre_of_gravity(masses: &[PlacedMass]) -> Vec2 {
    let total: f64 = masses.iter().map(|body| body.mass_kg).sum();
    masses
        .iter()
        .map(|body| body.cg_m * body.mass_kg)
        .sum::<Vec2>()
        / total
}

#[cfg(test)]
mod tests;
