//! What do hoists carry when a hang is panned, stands off their middle, or hangs on a line of
//! hoists; and what holds a pan?
//!
//! On hoists in plan: the hang's centre of gravity, turned by the pan and moved by its offsets, is
//! shared as in `rigid_hang`. Hoists on one line hold no moment about it: the hang leans until its
//! centre of gravity is plumb below the line, tan lean = offset / depth.
//!
//! Two lines of length ℓ from roof points 2a apart to frame points 2b apart, the frame's middle
//! plumb below the roof's, panned by ψ from rest: the height is h = √(ℓ² − a² − b² + 2ab cos ψ),
//! each line pulls W ℓ / 2h, and the torque that holds the pan is W a b sin ψ / h. Source: the
//! bifilar pendulum, any mechanics textbook.

use super::rigid_hang::{Plan, RigidHang, rigid_hang};
use crate::error::{Result, accept, each, finite, positive, within_range};
use crate::pose::Hanging;
use nalgebra::Vector3;

/// How level hoists on one line must be, as a share of their distance.
const LEVEL: f64 = 1e-6;

/// Loads of a hang on hoists anywhere above it.
#[derive(Clone, Debug, PartialEq)]
pub struct HangOnHoists {
    /// Pull of each hoist and which are slack.
    pub hoists: RigidHang,
    /// Centre of gravity in the room, after leaning.
    pub cg_m: Vector3<f64>,
    /// Weight of everything hung.
    pub weight_n: f64,
    /// Lean about the line of the hoists, positive to the left of the line from its first to its
    /// last hoist; zero where they do not stand on one line.
    pub lean_rad: f64,
}

/// Pulls of hoists with hooks at `points_m` in the room that hold a hang as it hangs, its centre of
/// gravity `lateral_cg_m` to the left of its middle plane.
///
/// # Errors
/// An input out of bounds, the centre of gravity outside the hoists, or hoists on one line that is
/// not level or not above the centre of gravity.
pub fn hang_on_hoists(
    hanging: &Hanging<'_>,
    lateral_cg_m: f64,
    points_m: &[Vector3<f64>],
    stiffness_n_m: Option<&[f64]>,
    high_m: Option<&[f64]>,
) -> Result<HangOnHoists> {
    for (name, value) in [
        ("x_m", hanging.placement.x_m),
        ("y_m", hanging.placement.y_m),
        ("pan_deg", hanging.placement.pan_rad),
        ("lateral_cg_m", lateral_cg_m),
    ] {
        finite(name, value)?;
    }
    for (index, point) in points_m.iter().enumerate() {
        each(&format!("points_m[{index}]"), point.as_slice(), finite)?;
    }
    let placed = hanging.pose()?;
    let weight_n = placed.weight_n();
    let (sin, cos) = hanging.placement.pan_rad.sin_cos();
    let mut cg_m = Vector3::from(hanging.placement.point(placed.cg_m))
        + Vector3::new(-sin, cos, 0.0) * lateral_cg_m;

    let plan_m: Vec<[f64; 2]> = points_m.iter().map(|p| [p.x, p.y]).collect();
    let plan = Plan::new(&plan_m)?;
    let mut lean_rad = 0.0;
    if plan.is_line() {
        let height_m = points_m[0].z;
        let apart = points_m
            .iter()
            .fold(0.0, |top: f64, p| top.max((p - points_m[0]).norm()));
        for (index, point) in points_m.iter().enumerate() {
            accept(
                (point.z - height_m).abs() <= LEVEL * apart,
                &format!("points_m[{index}]"),
                format!("height {}", point.z),
                format!("hoists on one line at one height, {height_m}"),
            )?;
        }
        let (below, offset_m) = plan.onto_line([cg_m.x, cg_m.y]);
        let depth_m = height_m - cg_m.z;
        accept(
            depth_m > 0.0,
            "points_m",
            format!("height {height_m}"),
            format!("above the centre of gravity at {}", cg_m.z),
        )?;
        lean_rad = offset_m.atan2(depth_m);
        cg_m = Vector3::new(below[0], below[1], height_m - offset_m.hypot(depth_m));
    }
    Ok(HangOnHoists {
        hoists: rigid_hang(&plan_m, [cg_m.x, cg_m.y], weight_n, stiffness_n_m, high_m)?,
        cg_m,
        weight_n,
        lean_rad,
    })
}

/// What holds a frame panned on two lines.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PanHold {
    /// Torque about the plumb axis.
    pub torque_nm: f64,
    /// Pull of each line.
    pub line_n: f64,
    /// Horizontal part of it, on each roof point.
    pub horizontal_n: f64,
    /// Lean of each line from plumb.
    pub from_plumb_rad: f64,
    /// How far panning lifts the frame.
    pub lift_m: f64,
}

/// Holds a frame on two equal lines panned by `pan_deg` from rest.
///
/// # Errors
/// A distance, length or weight not above zero, lines too short for the distances, or a pan beyond
/// ±180° or that the lines do not reach.
pub fn pan_hold(
    roof_spacing_m: f64,
    frame_spacing_m: f64,
    line_m: f64,
    weight_n: f64,
    pan_deg: f64,
) -> Result<PanHold> {
    let roof = positive("roof_spacing_m", roof_spacing_m)? / 2.0;
    let frame = positive("frame_spacing_m", frame_spacing_m)? / 2.0;
    positive("line_m", line_m)?;
    positive("weight_n", weight_n)?;
    let pan_rad = within_range("pan_deg", pan_deg, -180.0, 180.0)?.to_radians();
    accept(
        line_m > (roof - frame).abs(),
        "line_m",
        line_m,
        format!("longer than {}", (roof - frame).abs()),
    )?;
    let at_rest = line_m * line_m - (roof - frame) * (roof - frame);
    let swing = 4.0 * roof * frame * (pan_rad / 2.0).sin().powi(2);
    accept(
        swing < at_rest,
        "pan_deg",
        pan_deg,
        "a pan at which the lines still hang down",
    )?;
    let height_m = (at_rest - swing).sqrt();
    let line_n = weight_n * line_m / (2.0 * height_m);
    let across = line_m * line_m - height_m * height_m;
    Ok(PanHold {
        torque_nm: weight_n * roof * frame * pan_rad.sin() / height_m,
        line_n,
        horizontal_n: weight_n * across.max(0.0).sqrt() / (2.0 * height_m),
        from_plumb_rad: across.max(0.0).sqrt().atan2(height_m),
        lift_m: swing / (at_rest.sqrt() + height_m),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pose::Vec2;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    proptest! {
        /// The torque is the rise of potential energy per radian of pan.
        #[test]
        fn the_torque_is_the_slope_of_the_energy(
            roof in 0.2..3.0f64, frame in 0.2..3.0f64, line in 2.0..10.0f64, pan in 1.0..80.0f64,
        ) {
            prop_assume!(line > 1.2 * (roof + frame));
            let lift = |pan: f64| pan_hold(roof, frame, line, 5000.0, pan).unwrap().lift_m;
            let step = 1e-3_f64;
            let slope = (lift(pan + step) - lift(pan - step)) / (2.0 * step.to_radians());
            let torque = pan_hold(roof, frame, line, 5000.0, pan).unwrap().torque_nm;
            prop_assert!((torque - 5000.0 * slope).abs() < 1e-6 * torque.abs());
        }

        /// Both lines hold the weight, and their pull on the frame turns it with the torque.
        #[test]
        fn the_lines_balance_weight_and_torque(
            roof in 0.2..3.0f64, frame in 0.2..3.0f64, line in 2.0..10.0f64, pan in -120.0..120.0f64,
        ) {
            prop_assume!(line > 1.2 * (roof + frame));
            let held = pan_hold(roof, frame, line, 5000.0, pan).unwrap();
            let end = |spacing: f64, angle: f64| {
                Vec2::new(angle.cos(), angle.sin()) * (spacing / 2.0)
            };
            let (above, below) = (end(roof, 0.0), end(frame, pan.to_radians()));
            let across = above - below;
            let plumb = (line * line - across.norm_squared()).sqrt();
            let pull = held.line_n / line;
            prop_assert!((2.0 * pull * plumb - 5000.0).abs() < 1e-10 * 5000.0);
            prop_assert!((pull * across.norm() - held.horizontal_n).abs() < 1e-10 * 5000.0);
            let turning = 2.0 * pull * below.perp(&across);
            prop_assert!((turning + held.torque_nm).abs() < 1e-10 * 5000.0);
        }
    }

    #[test]
    fn plumb_lines_pull_no_roof_point_sideways() {
        let held = pan_hold(1.5, 1.5, 6.0, 4000.0, 0.0).unwrap();
        assert_relative_eq!(held.line_n, 2000.0, max_relative = 1e-12);
        assert_eq!(held.horizontal_n, 0.0);
        assert_eq!(held.torque_nm, 0.0);
    }
}
