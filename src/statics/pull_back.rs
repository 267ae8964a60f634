//! How hard must a line on the bottom pull to turn the hang further, and what does that do to the
//! joints?
//!
//! A rope or rear hoist pulls with F ≥ 0 from B on the bottom along the unit vector d to a point A.
//! On one pick P all turns until the moments about it vanish:
//! F = W (x_G − x_P) / ((B − P) × d). The hoists carry R = (0, W) − F d between them; with a line
//! that is not plumb they lean, all alike, and share R by moments about the picks. Cut joint j: below
//! it hang W_j at c and F d at B, so with link line u at lever e (see [`super::joints`])
//! N = (W_j a + (B − H) × F d)/e, and the hinge carries (0, W_j) − N u − F d.
//!
//! Source: method of sections, any statics textbook.

use super::balance::hanging_tilt_of;
use super::joints::{joint_loads_of, link_line};
use super::limits::{Case, FactorUse, LimitTable, Part, joint_limits};
use crate::error::{InputError, Result, accept, each, finite, non_negative, positive};
use crate::model::{Hang, Point};
use crate::pose::{Hanging, Pose, Vec2};
use nalgebra::Rotation2;

/// A line of force that passes the pick closer than this turns nothing.
const LEAST_LEVER_M: f64 = 1e-6;

/// What pulls the bottom back.
#[derive(Clone, Debug, PartialEq)]
pub struct Pull {
    /// Where the line leads, (x, z) in the room under the hang's pan.
    pub to_m: Point,
    /// Where it is fixed, in the axes of the bottom frame, or of the last cabinet where there is none;
    /// left out, the bottom frame's chain anchor.
    pub attach_m: Option<Point>,
    /// Its pull; left out on one pick, where it follows from the tilt.
    pub force_n: Option<f64>,
    /// Its stated limit.
    pub limit_n: Option<f64>,
}

/// How a pull-back ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PullEnd {
    /// The line pulls and every hoist carries load.
    Held,
    /// Some hoist would have to push, so the tilt is not held.
    HoistSlack,
    /// The line would have to push: it hangs slack, and the hang turns to its free tilt.
    LineSlack,
}

impl PullEnd {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Held => "held",
            Self::HoistSlack => "a hoist is slack",
            Self::LineSlack => "the line is slack",
        }
    }
}

/// A hang whose bottom is pulled back.
#[derive(Clone, Debug, PartialEq)]
pub struct PullBack {
    /// Whether the tilt is held.
    pub end: PullEnd,
    /// Pull of the line; 0 where it is slack.
    pub force_n: f64,
    /// Where it is fixed to the bottom.
    pub attach_m: Vec2,
    /// Its length.
    pub line_m: f64,
    /// Tilt without the line, on one pick.
    pub free_tilt_deg: Option<f64>,
    /// Load of each hoist along its line; 0 where slack.
    pub hoist_load_n: Vec<f64>,
    /// Lean of the hoists' lines from plumb, positive with their upper ends forward.
    pub hoist_lean_rad: f64,
    /// Force of each rear link; tension positive.
    pub rear_link_n: Vec<f64>,
    /// Force of each hinge on the body below.
    pub hinge_force_n: Vec<Vec2>,
    /// By how much the line changes each rear link's force.
    pub rear_link_change_n: Vec<f64>,
    /// Joints, hoists and line against their stated limits.
    pub limits: LimitTable,
}

/// The forces of a hang held by its hoists and a line on its bottom.
///
/// # Errors
/// Not one or two picks, no place to fix the line, a line of no length or through the pick, a force
/// left out on two picks, a limit of nothing, or an input out of range.
pub fn pull_back(hanging: &Hanging<'_>, pull: &Pull) -> Result<PullBack> {
    let Hanging { hang, pick_x_m, .. } = *hanging;
    each("pick_x_m", pick_x_m, finite)?;
    accept(
        matches!(pick_x_m.len(), 1 | 2),
        "pick_x_m",
        format!("{pick_x_m:?}"),
        "one or two picks",
    )?;
    each("to_m", &pull.to_m, finite)?;
    if let Some(limit_n) = pull.limit_n {
        positive("limit_n", limit_n)?;
    }
    let pose = hanging.pose()?;
    let attach_m = attached(hang, &pose, pull.attach_m)?;
    let along = Vec2::from(pull.to_m) - attach_m;
    let direction = along.try_normalize(LEAST_LEVER_M).ok_or_else(|| {
        let shown = format!("{:?}", pull.to_m);
        InputError::new("to_m", shown, "a point away from where the line is fixed")
    })?;
    let turn = Rotation2::new(pose.frame_axis_rad);
    let picks: Vec<Vec2> = pick_x_m
        .iter()
        .map(|&x| pose.hinge_m[0] + turn * Vec2::new(x, hang.frame.pick_z_m))
        .collect();
    let weight_n = pose.weight_n();
    let asked_n = match (picks.as_slice(), pull.force_n) {
        ([_, _], Some(force_n)) => non_negative("force_n", force_n)?,
        (_, Some(force_n)) => {
            let allowed = "None; on one pick it follows from the tilt";
            return Err(InputError::new("force_n", force_n, allowed));
        }
        ([pick], None) => {
            let lever_m = (attach_m - pick).perp(&direction);
            accept(
                lever_m.abs() > LEAST_LEVER_M,
                "to_m",
                format!("{:?}", pull.to_m),
                "a line that passes the pick at a distance",
            )?;
            weight_n * (pose.cg_m.x - pick.x) / lever_m
        }
        _ => {
            return Err(InputError::new(
                "force_n",
                "None",
                "the pull of the line; only on one pick it follows from the tilt",
            ));
        }
    };
    let force_n = asked_n.max(0.0);
    let pulled = direction * force_n;
    let rest = Vec2::new(0.0, weight_n) - pulled;
    let (hoist_load_n, all_pull) = shares(&picks, pick_x_m, &pose, attach_m, pulled)?;
    let end = match (asked_n >= 0.0, all_pull) {
        (false, _) => PullEnd::LineSlack,
        (true, false) => PullEnd::HoistSlack,
        (true, true) => PullEnd::Held,
    };
    let free = joint_loads_of(&pose)?;
    let mut found = PullBack {
        end,
        force_n,
        attach_m,
        line_m: along.norm(),
        free_tilt_deg: match pick_x_m {
            [pick] => Some(hanging_tilt_of(hang, &hang.splays_deg, *pick)),
            _ => None,
        },
        hoist_load_n,
        hoist_lean_rad: rest.x.atan2(rest.y),
        rear_link_n: Vec::with_capacity(pose.joints.len()),
        hinge_force_n: Vec::with_capacity(pose.joints.len()),
        rear_link_change_n: Vec::with_capacity(pose.joints.len()),
        limits: LimitTable::default(),
    };
    for (joint, placed) in pose.joints.iter().enumerate() {
        // joint_loads_of has refused a link in line with its hinge.
        let Some((link, lever_m)) = link_line(placed) else {
            continue;
        };
        let change_n = (attach_m - placed.hinge_m).perp(&pulled) / lever_m;
        found.rear_link_n.push(free.rear_link_n[joint] + change_n);
        found.rear_link_change_n.push(change_n);
        let hinge_n = free.hinge_force_n[joint] - link * change_n - pulled;
        found.hinge_force_n.push(hinge_n);
    }
    found.add_limits(hang, pull.limit_n);
    Ok(found)
}

/// Where the line is fixed to the bottom, in the room.
fn attached(hang: &Hang, pose: &Pose, attach_m: Option<Point>) -> Result<Vec2> {
    if let Some(point) = &attach_m {
        each("attach_m", point, finite)?;
    }
    let last = hang.cabinets.len() - 1;
    let (origin, axis_rad, anchor) = match &hang.bottom {
        Some(bottom) => (
            pose.hinge_m[last + 1],
            pose.axis_rad[last] - bottom.fixed_splay_deg.to_radians(),
            bottom.chain_anchor_m,
        ),
        None => (pose.front_m[last], pose.axis_rad[last], None),
    };
    let point = attach_m.or(anchor).ok_or_else(|| {
        InputError::new(
            "attach_m",
            "None",
            "where the line is fixed; this hang has no chain anchor on a bottom frame",
        )
    })?;
    Ok(origin + Rotation2::new(axis_rad) * Vec2::from(point))
}

/// What each of one or two parallel hoist lines carries, and whether all of them pull.
fn shares(
    picks: &[Vec2],
    pick_x_m: &[f64],
    pose: &Pose,
    attach_m: Vec2,
    pulled: Vec2,
) -> Result<(Vec<f64>, bool)> {
    let weight = Vec2::new(0.0, -pose.weight_n());
    let rest = -(weight + pulled);
    let total_n = rest.norm();
    match *picks {
        [_] => Ok((vec![total_n], rest.y > 0.0)),
        [first, second] => {
            let line = rest / total_n.max(f64::MIN_POSITIVE);
            let spacing_m = (first - second).perp(&line);
            accept(
                spacing_m.abs() > LEAST_LEVER_M,
                "pick_x_m",
                format!("{pick_x_m:?}"),
                "two picks that stand apart across their lines",
            )?;
            let moment_nm = (pose.cg_m - second).perp(&weight) + (attach_m - second).perp(&pulled);
            let first_n = -moment_nm / spacing_m;
            let second_n = total_n - first_n;
            let all_pull = first_n >= 0.0 && second_n >= 0.0;
            let load_n = match (first_n < 0.0, second_n < 0.0) {
                (true, _) => vec![0.0, total_n],
                (_, true) => vec![total_n, 0.0],
                _ => vec![first_n, second_n],
            };
            Ok((load_n, all_pull))
        }
        _ => Err(InputError::new(
            "pick_x_m",
            format!("{pick_x_m:?}"),
            "one or two picks",
        )),
    }
}

impl PullBack {
    fn add_limits(&mut self, hang: &Hang, line_limit_n: Option<f64>) {
        let mut rows = vec![(Part::PullBackLine, self.force_n, line_limit_n)];
        for (index, &load_n) in self.hoist_load_n.iter().enumerate() {
            rows.push((Part::Pick(index), load_n, hang.frame.limits.pick_n));
        }
        for (joint, &link_n) in self.rear_link_n.iter().enumerate() {
            let limits = joint_limits(hang, joint);
            let hinge_n = self.hinge_force_n[joint].norm();
            rows.push((Part::Hinge(joint), hinge_n, limits.hinge_n));
            rows.push(if link_n >= 0.0 {
                (Part::RearLink(joint), link_n, limits.rear_link_n)
            } else {
                (Part::Stop(joint), -link_n, limits.stop_n)
            });
        }
        for (part, demand, limit) in rows {
            let case = Case::PulledBack;
            self.limits
                .add(part, demand, limit, case, FactorUse::NotAsked);
        }
    }
}
