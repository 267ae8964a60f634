//! Where every body of the hang is, for given tilt, height and joint angles.
//!
//! R(φ) = [[cos φ, −sin φ], [sin φ, cos φ]] turns a body frame by the elevation φ of its axis.
//! φ(frame) = tilt, φ(cabinet 0) = tilt − frame splay, φ(i+1) = φ(i) − splay(i). Each body hangs
//! by its upper front hinge from its upper neighbour's lower front hinge.

mod placement;
mod throws;

pub use placement::Placement;
pub use throws::{Throw, throws};

use crate::error::{Result, accept, each, finite, within_range};
use crate::model::{Cabinet, Hang, Point, Valid};
use nalgebra::{Rotation2, Vector2};

/// A point or direction in the vertical plane of the hang, `(x, z)`.
pub type Vec2 = Vector2<f64>;

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
    /// Centre of gravity of everything hung.
    pub cg_m: Vec2,
    /// Height of the lowest point: cabinets' corners and the bottom frame's chain anchor.
    pub trim_m: f64,
}

/// Places every body of the hang at its pinned angles.
///
/// # Errors
/// `tilt_deg` is not within ±90, or `top_m` is not finite.
pub fn pose(hang: &Valid<Hang>, tilt_deg: f64, top_m: f64) -> Result<Pose> {
    within_range("tilt_deg", tilt_deg, -90.0, 90.0)?;
    finite("top_m", top_m)?;
    Ok(place(hang, &hang.splays_deg, tilt_deg, top_m))
}

/// Places every body at angles between cabinets that need not be pin positions: a hang that is open
/// or on its way to closed.
///
/// # Errors
/// Not one angle a gap between cabinets, an angle beyond ±90, or as [`pose`].
pub fn pose_at(hang: &Valid<Hang>, splays_deg: &[f64], tilt_deg: f64, top_m: f64) -> Result<Pose> {
    within_range("tilt_deg", tilt_deg, -90.0, 90.0)?;
    finite("top_m", top_m)?;
    let gaps = hang.splays_deg.len();
    accept(
        splays_deg.len() == gaps,
        "splays_deg",
        format!("{} angles", splays_deg.len()),
        format_args!("{gaps} angles, one a gap between cabinets"),
    )?;
    each("splays_deg", splays_deg, |field, angle| {
        within_range(field, angle, -90.0, 90.0)
    })?;
    Ok(place(hang, splays_deg, tilt_deg, top_m))
}

/// Places every body at the given angles between cabinets, which need not be pin positions.
/// `splays_deg` holds one angle fewer than there are cabinets; all inputs are finite.
pub(crate) fn place(hang: &Hang, splays_deg: &[f64], tilt_deg: f64, top_m: f64) -> Pose {
    let frame = &hang.frame;
    let frame_axis_rad = tilt_deg.to_radians();
    let frame_turn = Rotation2::new(frame_axis_rad);
    let top = Vec2::new(0.0, top_m);
    let frame_point = |p: Point| top + frame_turn * Vec2::from(p);

    let mut masses = vec![PlacedMass {
        mass_kg: frame.mass_kg,
        cg_m: frame_point(frame.cg_m),
    }];
    let mut hinge = top;
    let mut axis_deg = tilt_deg - hang.frame_splay_deg;
    let mut upper_pin = frame_point(
        frame
            .rear_pin_m
            .unwrap_or_else(|| mirrored_pin(&hang.cabinets[0], 1.0)),
    );
    let mut placed = Pose {
        frame_axis_rad,
        axis_rad: Vec::with_capacity(hang.cabinets.len()),
        front_m: Vec::with_capacity(hang.cabinets.len()),
        hinge_m: vec![top],
        corners_m: Vec::with_capacity(hang.cabinets.len()),
        joints: Vec::with_capacity(hang.joint_count()),
        masses: Vec::new(),
        pick_m: frame
            .pick_x_m
            .iter()
            .map(|&x| frame_point([x, frame.pick_z_m]))
            .collect(),
        chain_m: None,
        mass_kg: 0.0,
        cg_m: top,
        trim_m: f64::INFINITY,
    };

    for (index, cabinet) in hang.cabinets.iter().enumerate() {
        if index > 0 {
            axis_deg -= splays_deg[index - 1];
        }
        let axis_rad = axis_deg.to_radians();
        let turn = Rotation2::new(axis_rad);
        let half = cabinet.height_m / 2.0;
        let front = hinge - turn * Vec2::new(cabinet.hinge_x_m, half);
        let point = |x: f64, z: f64| front + turn * Vec2::new(x, z);
        placed.joints.push(PlacedJoint {
            hinge_m: hinge,
            upper_pin_m: upper_pin,
            lower_pin_m: point(cabinet.rear_pin_x_m, half - cabinet.rear_pin_inset_m),
        });
        let rear = cabinet.rear_height_m() / 2.0;
        let corners = [
            point(0.0, half),
            point(0.0, -half),
            point(-cabinet.depth_m, -rear),
            point(-cabinet.depth_m, rear),
        ];
        placed.trim_m = corners.iter().fold(placed.trim_m, |low, c| low.min(c.y));
        placed.corners_m.push(corners);
        placed.axis_rad.push(axis_rad);
        placed.front_m.push(front);
        masses.push(PlacedMass {
            mass_kg: cabinet.mass_kg,
            cg_m: point(cabinet.cg_m[0], cabinet.cg_m[1]),
        });
        hinge = point(cabinet.hinge_x_m, -half);
        upper_pin = point(cabinet.rear_pin_x_m, cabinet.rear_pin_inset_m - half);
        placed.hinge_m.push(hinge);
    }

    if let Some(bottom) = &hang.bottom {
        let turn = Rotation2::new((axis_deg - bottom.fixed_splay_deg).to_radians());
        let bottom_point = |p: Point| hinge + turn * Vec2::from(p);
        let last = &hang.cabinets[hang.cabinets.len() - 1];
        placed.joints.push(PlacedJoint {
            hinge_m: hinge,
            upper_pin_m: upper_pin,
            lower_pin_m: bottom_point(
                bottom
                    .rear_pin_m
                    .unwrap_or_else(|| mirrored_pin(last, -1.0)),
            ),
        });
        masses.push(PlacedMass {
            mass_kg: bottom.mass_kg,
            cg_m: bottom_point(bottom.cg_m),
        });
        if let Some(anchor) = bottom.chain_anchor_m {
            let lower = bottom_point(anchor);
            placed.trim_m = placed.trim_m.min(lower.y);
            placed.chain_m = frame
                .chain_anchor_m
                .map(|upper| [frame_point(upper), lower]);
        }
    }

    placed.mass_kg = masses.iter().map(|body| body.mass_kg).sum();
    placed.cg_m = centre_of_gravity(&masses);
    placed.masses = masses;
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

/// The rear pin a frame has when none is stated: that of the cabinet it meets, mirrored in the
/// joint. `side` is 1 above the joint and −1 below.
pub(crate) fn mirrored_pin(cabinet: &Cabinet, side: f64) -> Point {
    [
        cabinet.rear_pin_x_m - cabinet.hinge_x_m,
        side * cabinet.rear_pin_inset_m,
    ]
}

#[cfg(test)]
mod tests;
