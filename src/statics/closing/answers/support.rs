//! What holds the fly frame while the hang closes, and what the hoists carry.
//!
//! Hoists pull plumb. A held frame keeps its tilt whatever it takes. On one pick it turns so that
//! all hangs plumb below. On two hoists it keeps its tilt while both carry load; where the centre of
//! gravity passes the plumb line of a pick, the other hoist goes slack and the frame turns on that
//! pick, one-sidedly, until it is back at its tilt.

use super::forces::JointForces;
use crate::error::{InputError, Result, accept};
use crate::model::Hang;
use crate::pose::Vec2;
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use crate::statics::closing::solver::path::{Path, follow, rows_expected};
use nalgebra::Rotation2;
use std::f64::consts::FRAC_PI_2;

/// What holds the fly frame.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FrameHold {
    /// Held at its tilt, hoists pushing where they must.
    #[default]
    Held,
    /// Turning on one pick.
    OnePick,
    /// On two hoists that only pull.
    TwoHoists,
}

/// Which hoist goes slack on the way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slack {
    /// Every hoist carries load all the way.
    None,
    /// The front hoist goes slack and the frame turns on the rear pick.
    Front,
    /// The rear hoist goes slack and the frame turns on the front pick.
    Rear,
    /// Both would go slack in turn; the path follows the first and is not valid after the second.
    Both,
}

impl Slack {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Front => "front",
            Self::Rear => "rear",
            Self::Both => "front and rear in turn",
        }
    }
}

/// A hoist that carries less than this share of the weight upside down is slack.
const SLACK_SHARE: f64 = 1e-9;

/// Two picks of a frame at a steeper tilt are less than a tenth of their distance apart in plan.
const STEEPEST_DEG: f64 = 84.0;

/// Refuses a tilt, known to within a standard deviation, whose two picks may stand over one another
/// in plan, or so nearly that the hoists' loads hang on hundredths of a degree.
pub(crate) fn picks_stand_apart(tilt_deg: f64, spread_deg: f64) -> Result<f64> {
    // A draw beyond six standard deviations is not expected in 10⁸ cases.
    let most_deg = STEEPEST_DEG - 6.0 * spread_deg;
    accept(
        tilt_deg.abs() <= most_deg,
        "tilt_deg",
        tilt_deg,
        format_args!("within {most_deg}°, where two picks stand apart in plan"),
    )
}

pub(crate) struct Support {
    hold: FrameHold,
    /// Picks in the frame, front first.
    picks_m: Vec<Vec2>,
    tilt_rad: f64,
}

/// The mechanism with its support, and its closing path with the forces in each row.
pub(crate) struct Walked {
    pub mechanism: Mechanism,
    pub path: Path,
    pub joints: Vec<JointForces>,
    pub hoist_load_n: Vec<Vec<f64>>,
    pub slack: Slack,
}

impl Support {
    /// Without picks, two hoists take the frame's foremost and rearmost hole.
    pub fn new(hang: &Hang, hold: FrameHold, tilt_rad: f64, pick_x_m: &[f64]) -> Result<Self> {
        let holes = &hang.frame.pick_x_m;
        let ends = [
            holes.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            holes.iter().copied().fold(f64::INFINITY, f64::min),
        ];
        let picks_x_m = match (pick_x_m, hold) {
            ([], FrameHold::OnePick) => &[],
            ([], FrameHold::Held) if ends[0] == ends[1] => &ends[..1],
            ([], _) => &ends[..],
            (given, _) => given,
        };
        let finite = picks_x_m.iter().all(|pick| pick.is_finite());
        let fits = match (picks_x_m, hold) {
            ([_], FrameHold::OnePick | FrameHold::Held) => true,
            ([front, rear], FrameHold::Held | FrameHold::TwoHoists) => front > rear,
            _ => false,
        };
        if !(finite && fits) {
            let allowed = match hold {
                FrameHold::OnePick => "one pick",
                _ => "two different picks, the front one first",
            };
            return Err(InputError::new(
                "pick_x_m",
                format!("{picks_x_m:?}"),
                allowed,
            ));
        }
        if picks_x_m.len() == 2 {
            picks_stand_apart(tilt_rad.to_degrees(), 0.0)?;
        }
        Ok(Self {
            hold,
            picks_m: picks_x_m
                .iter()
                .map(|&x| Vec2::new(x, hang.frame.pick_z_m))
                .collect(),
            tilt_rad,
        })
    }

    /// Follows the closing path of `hang`, letting a hoist go slack where it must.
    pub fn walk(&self, hang: &Hang, top_joint: TopJoint, steps: usize) -> Result<Walked> {
        let held = Mechanism::new(hang, &hang.splays_deg, self.tilt_rad, top_joint)?;
        if self.hold == FrameHold::OnePick {
            let hooked = held.on_hook(self.picks_m[0], [-FRAC_PI_2, FRAC_PI_2]);
            return Ok(self.walk_along(hooked, steps));
        }
        let walked = self.walk_along(held, steps);
        if self.hold == FrameHold::Held {
            return Ok(walked);
        }
        let slack = walked.first_slack();
        let (pivot_m, range_rad) = match slack {
            Slack::Rear => (self.picks_m[0], [-FRAC_PI_2, self.tilt_rad]),
            Slack::Front => (self.picks_m[1], [self.tilt_rad, FRAC_PI_2]),
            _ => return Ok(walked),
        };
        let hooked = walked.mechanism.on_hook(pivot_m, range_rad);
        let mut turned = self.walk_along(hooked, steps);
        turned.slack = match turned.first_slack() {
            Slack::None => slack,
            _ => Slack::Both,
        };
        Ok(turned)
    }

    fn walk_along(&self, mechanism: Mechanism, steps: usize) -> Walked {
        let rows = rows_expected(&mechanism, steps);
        let mut joints = Vec::with_capacity(rows);
        let mut hoist_load_n = Vec::with_capacity(rows);
        let path = follow(&mechanism, steps, &mut |state, force_n| {
            joints.push(state.joint_forces(&mechanism, force_n));
            hoist_load_n.push(self.loads_n(&mechanism, state));
        });
        Walked {
            mechanism,
            path,
            joints,
            hoist_load_n,
            slack: Slack::None,
        }
    }

    /// Load of each hoist at a state; below zero where a hoist of a held frame would push.
    pub fn loads_n(&self, mechanism: &Mechanism, state: &State) -> Vec<f64> {
        let frame = mechanism.hooks;
        let body = &mechanism.bodies[frame];
        let below_kg = state.below_kg[frame];
        let mass_kg = body.mass_kg + below_kg;
        let cg_x = (body.mass_kg * state.point(frame, body.cg_m).x + state.below_moment[frame].x)
            / mass_kg;
        let weight_n = mass_kg * mechanism.gravity_m_s2;
        let [front, rear] = self.picks_m[..] else {
            return vec![weight_n];
        };
        let hinge_x = state.hinge_m(frame).x;
        let turn = Rotation2::new(self.tilt_of(mechanism, &state.angle_rad));
        let [front_x, rear_x] = [front, rear].map(|pick| hinge_x + (turn * pick).x);
        let front_n = weight_n * (cg_x - rear_x) / (front_x - rear_x);
        vec![front_n, weight_n - front_n]
    }

    /// The picks in the frame's own axes, front first.
    pub fn points_m(&self) -> &[Vec2] {
        &self.picks_m
    }

    /// The same picks on a frame held at another tilt.
    pub fn at_tilt(&self, tilt_rad: f64) -> Self {
        Self {
            hold: self.hold,
            picks_m: self.picks_m.clone(),
            tilt_rad,
        }
    }

    /// Elevation of the frame's axis.
    pub fn tilt_of(&self, mechanism: &Mechanism, angle_rad: &[f64]) -> f64 {
        if mechanism.hooks == 0 {
            self.tilt_rad
        } else {
            -angle_rad[0]
        }
    }
}

impl Walked {
    /// The first hoist to push on the way.
    fn first_slack(&self) -> Slack {
        for loads_n in &self.hoist_load_n {
            let least_n = -SLACK_SHARE * loads_n.iter().sum::<f64>();
            match loads_n[..] {
                [front, _] if front < least_n => return Slack::Front,
                [_, rear] if rear < least_n => return Slack::Rear,
                _ => (),
            }
        }
        Slack::None
    }
}
