//! Where does the hang balance, and what does each hoist carry?
//!
//! Hoists pull plumb. On one pick the hang turns until its centre of gravity G is plumb under the
//! pick P: with G and P in the fly frame's own axes, tan φ = (P_x − G_x) / (P_z − G_z). On two
//! picks at a held tilt, moments about each pick give F₁ = W (x_G − x₂) / (x₁ − x₂) and
//! F₂ = W − F₁, with x in room axes. A hoist cannot push: a force below zero means that it is
//! slack and that the tilt is not held.
//!
//! Source: equilibrium of a rigid body under parallel forces, any statics textbook.

use crate::error::{InputError, Result, accept, each, finite, within_range};
use crate::model::{Hang, Valid};
use crate::pose::{Hanging, Pose, Vec2, place};
use nalgebra::Rotation2;

/// Picks closer together than this in plan cannot share a load in a determinate way.
const LEAST_SPACING_M: f64 = 1e-6;

/// What each hoist carries at a held tilt.
#[derive(Clone, Debug, PartialEq)]
pub struct HoistLoads {
    /// Load of each hoist; 0 where slack.
    pub load_n: Vec<f64>,
    /// Whether the hoist would have to push.
    pub slack: Vec<bool>,
    /// Moment about y that the hoists leave unbalanced; not zero when the tilt is not held.
    pub unbalanced_moment_nm: f64,
    /// Tilts at which every hoist carries load: for one pick, the hanging tilt twice.
    pub tilt_range_deg: [f64; 2],
}

/// Loads of one or two plumb hoists that hold the hang as it hangs.
///
/// # Errors
/// None or more than two picks, picks that are one, or a tilt out of range.
pub fn hoist_loads(hanging: &Hanging<'_>) -> Result<HoistLoads> {
    each("pick_x_m", hanging.pick_x_m, finite)?;
    hoist_loads_of(&hanging.pose()?, hanging.hang, hanging.pick_x_m)
}

/// Loads of one or two plumb hoists for a pose of `hang`, at its pins or any others.
///
/// # Errors
/// None or more than two picks, or picks that are one.
pub(crate) fn hoist_loads_of(pose: &Pose, hang: &Hang, pick_x_m: &[f64]) -> Result<HoistLoads> {
    let weight_n = pose.weight_n();
    let frame_turn = Rotation2::new(pose.frame_axis_rad);
    let cg_in_frame = frame_turn.inverse() * (pose.cg_m - pose.hinge_m[0]);
    let local = |x: f64| Vec2::new(x, hang.frame.pick_z_m);
    let rest_deg = |x: f64| rest_tilt_deg(local(x), cg_in_frame);
    let picks: Vec<Vec2> = pick_x_m
        .iter()
        .map(|&x| pose.hinge_m[0] + frame_turn * local(x))
        .collect();
    match picks[..] {
        [pick] => {
            let tilt_deg = rest_deg(pick_x_m[0]);
            Ok(HoistLoads {
                load_n: vec![weight_n],
                slack: vec![false],
                unbalanced_moment_nm: weight_n * (pose.cg_m.x - pick.x),
                tilt_range_deg: [tilt_deg, tilt_deg],
            })
        }
        [first, second] => {
            let spacing_m = first.x - second.x;
            accept(
                spacing_m.abs() >= LEAST_SPACING_M,
                "pick_x_m",
                format!("{pick_x_m:?}"),
                "two picks that stand apart in plan",
            )?;
            let ends = [rest_deg(pick_x_m[0]), rest_deg(pick_x_m[1])];
            let first_n = weight_n * (pose.cg_m.x - second.x) / spacing_m;
            let pull_n = [first_n, weight_n - first_n];
            let slack = pull_n.map(|force| force < 0.0);
            let load_n = match slack {
                [true, _] => [0.0, weight_n],
                [_, true] => [weight_n, 0.0],
                _ => pull_n,
            };
            let moment_nm = weight_n * pose.cg_m.x - load_n[0] * first.x - load_n[1] * second.x;
            Ok(HoistLoads {
                load_n: load_n.to_vec(),
                slack: slack.to_vec(),
                unbalanced_moment_nm: if slack == [false; 2] { 0.0 } else { moment_nm },
                tilt_range_deg: [ends[0].min(ends[1]), ends[0].max(ends[1])],
            })
        }
        _ => Err(InputError::new(
            "pick_x_m",
            format!("{pick_x_m:?}"),
            "one or two picks; more are indeterminate and need the hoists' stiffness",
        )),
    }
}

/// Tilt at which the hang comes to rest on one pick.
///
/// # Errors
/// The pick lies at the centre of gravity, where every tilt is at rest.
pub fn hanging_tilt(hang: &Valid<Hang>, pick_x_m: f64) -> Result<f64> {
    finite("pick_x_m", pick_x_m)?;
    let plumb = Vec2::new(pick_x_m, hang.frame.pick_z_m) - cg_in_frame(hang, &hang.splays_deg);
    accept(
        plumb.norm() > LEAST_SPACING_M,
        "pick_x_m",
        pick_x_m,
        "a pick away from the centre of gravity",
    )?;
    Ok(hanging_tilt_of(hang, &hang.splays_deg, pick_x_m))
}

/// Hanging tilt on one pick at any splays; 0 where every tilt is at rest.
pub(crate) fn hanging_tilt_of(hang: &Hang, splays_deg: &[f64], pick_x_m: f64) -> f64 {
    rest_tilt_deg(
        Vec2::new(pick_x_m, hang.frame.pick_z_m),
        cg_in_frame(hang, splays_deg),
    )
}

/// Tilt that brings the centre of gravity plumb under the pick, both in the frame's axes.
pub(crate) fn rest_tilt_deg(pick_in_frame: Vec2, cg_in_frame: Vec2) -> f64 {
    let plumb = pick_in_frame - cg_in_frame;
    plumb.x.atan2(plumb.y).to_degrees()
}

/// The pick that gives a wanted tilt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PickForTilt {
    /// Where the pick would have to be.
    pub pick_x_m: f64,
    /// Index of the frame's hole whose tilt comes nearest.
    pub hole: usize,
    /// Tilt on that hole.
    pub tilt_at_hole_deg: f64,
    /// Lowest and highest tilt on any of the frame's holes.
    pub tilt_range_deg: [f64; 2],
}

/// The pick, anywhere along the pick line and snapped to the frame's holes, that gives a tilt.
///
/// # Errors
/// The tilt is not within ±80°.
pub fn pick_for_tilt(hanging: &Hanging<'_>) -> Result<PickForTilt> {
    let Hanging { hang, tilt_deg, .. } = *hanging;
    within_range("tilt_deg", tilt_deg, -80.0, 80.0)?;
    let cg = cg_in_frame(hang, &hang.splays_deg);
    let pick_x_m = cg.x + (hang.frame.pick_z_m - cg.y) * tilt_deg.to_radians().tan();
    let tilts_deg = hang
        .frame
        .pick_x_m
        .iter()
        .map(|&hole| hanging_tilt(hang, hole))
        .collect::<Result<Vec<_>>>()?;
    let mut hole = 0;
    for (index, tilt) in tilts_deg.iter().enumerate() {
        if (tilt - tilt_deg).abs() < (tilts_deg[hole] - tilt_deg).abs() {
            hole = index;
        }
    }
    Ok(PickForTilt {
        pick_x_m,
        hole,
        tilt_at_hole_deg: tilts_deg[hole],
        tilt_range_deg: [
            tilts_deg.iter().copied().fold(f64::INFINITY, f64::min),
            tilts_deg.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ],
    })
}

fn cg_in_frame(hang: &Hang, splays_deg: &[f64]) -> Vec2 {
    place(hang, splays_deg, 0.0, 0.0).cg_m
}
