//! Closing a few joints at a time, as cabinets are added.
//!
//! Each stage has the bottom frame under its last cabinet and a closing chain from it to the fly
//! frame. The chain of the stage before stays on, with its hoist, at the length that closes that
//! stage, and keeps the earlier joints on their stops while the next cabinets hang open below them
//! and a second chain closes those. With G_j the gravity moment of all below joint j, E_j the lever
//! of the stage's chain and H_j that of the chain left on, no longer than on the stops:
//!
//! - closed, the stage's chain carries T = max_j G_j/E_j over the new joints;
//! - on the way there the chain left on carries at least max_j (G_j − T E_j)/H_j over the earlier
//!   joints, T being zero while the new joints hang open;
//! - earlier joints with G_j > T E_j in the end would open again without it.

use super::closed::ClosedState;
use super::shortening::{Shortening, choose};
use crate::error::{Result, accept, positive, within_range};
use crate::model::Hang;
use crate::pose::Hanging;
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use crate::statics::closing::solver::contact::PathEnd;
use crate::statics::closing::solver::path::follow;

const STEPS: usize = 100;
/// Share of a moment that counts as rounding.
const ROUNDING: f64 = 1e-12;

/// Whether a stage closes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StageEnd {
    /// The force available closes the new joints.
    Closes,
    /// The new joints ask for more than the force available.
    TooLittleForce,
    /// No chain force closes the new joints.
    NoForceCloses,
    /// The chain left on does not keep this earlier joint on its stop on the way.
    EarlierOpens {
        /// The joint.
        joint: usize,
    },
}

impl StageEnd {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Closes => "closes",
            Self::TooLittleForce => "more force than available",
            Self::NoForceCloses => "no force closes the new joints",
            Self::EarlierOpens { .. } => "an earlier joint opens again",
        }
    }
}

/// One stage of closing.
#[derive(Clone, Debug, PartialEq)]
pub struct ClosingStage {
    /// Cabinets hung.
    pub cabinets: usize,
    /// Joints that this stage closes.
    pub joints: Vec<usize>,
    /// How it ends.
    pub end: StageEnd,
    /// Joint angles with the new joints open, earlier ones on their stops.
    pub open_angle_rad: Vec<f64>,
    /// Chain length then.
    pub chain_open_m: f64,
    /// Chain length with every joint on its stop.
    pub chain_closed_m: f64,
    /// Which link takes this stage's chain; `None` without closing gear.
    pub shortening: Option<Shortening>,
    /// Least chain force with the new joints on their stops.
    pub closing_force_n: Option<f64>,
    /// The new joint that asks for it.
    pub joint: Option<usize>,
    /// Greatest chain force on the way there.
    pub peak_force_n: Option<f64>,
    /// Least force in the chain left on while the new joints hang open.
    pub left_on_open_n: Option<f64>,
    /// The greatest it needs on the way.
    pub left_on_peak_n: Option<f64>,
    /// Least force in it once the new joints are closed.
    pub left_on_closed_n: Option<f64>,
    /// Earlier joints that would open again then without the chain left on.
    pub open_again: Vec<usize>,
    /// Chain force that holds every joint without the chain left on.
    pub alone_force_n: Option<f64>,
}

/// Closing in stages.
#[derive(Clone, Debug, PartialEq)]
pub struct ClosingStages {
    /// Force available.
    pub available_n: f64,
    /// In order of building; the last one is the first that does not close, if any.
    pub stages: Vec<ClosingStage>,
}

/// Closes a hang in stages with `available_n` in the chain, from a frame held at its tilt, joint 0
/// locked. `cabinets` are the numbers of cabinets hung in each stage, all of them in the last; without
/// it each stage has as many as the force closes.
///
/// # Errors
/// Stages that do not grow to the whole hang, `available_n` not above zero, or as [`crate::statics::closing::close`].
pub fn closing_stages(
    hanging: &Hanging<'_>,
    available_n: f64,
    cabinets: Option<&[usize]>,
) -> Result<ClosingStages> {
    let Hanging { hang, tilt_deg, .. } = *hanging;
    within_range("tilt_deg", tilt_deg, -60.0, 60.0)?;
    positive("available_n", available_n)?;
    let all = hang.cabinets.len();
    if let Some(counts) = cabinets {
        let grows = counts.is_sorted_by(|a, b| a < b) && counts.first().is_some_and(|&c| c > 0);
        accept(
            grows && counts.last() == Some(&all),
            "cabinets",
            format!("{counts:?}"),
            "growing numbers of cabinets, all of the hang last",
        )?;
    }
    let mut stages: Vec<ClosingStage> = Vec::new();
    let mut hung = 0;
    while hung < all {
        let next = match cabinets {
            Some(counts) => {
                Stage::new(hang, tilt_deg, hung, counts[stages.len()])?.calculate(available_n)
            }
            None => most_at_once(hang, tilt_deg, hung, available_n)?,
        };
        hung = next.cabinets;
        let goes_on = next.end == StageEnd::Closes;
        stages.push(next);
        if !goes_on {
            break;
        }
    }
    Ok(ClosingStages {
        available_n,
        stages,
    })
}

/// The stage after `hung` cabinets with as many as the force closes, or with one that it does not.
fn most_at_once(hang: &Hang, tilt_deg: f64, hung: usize, available_n: f64) -> Result<ClosingStage> {
    for count in (hung + 2..=hang.cabinets.len()).rev() {
        let stage = Stage::new(hang, tilt_deg, hung, count)?;
        let asked_n = ClosedState::of(&stage.mechanism, &stage.closed).force_n();
        if asked_n.is_some_and(|force_n| force_n <= available_n) {
            let found = stage.calculate(available_n);
            if found.end == StageEnd::Closes {
                return Ok(found);
            }
        }
    }
    Stage::new(hang, tilt_deg, hung, hung + 1).map(|stage| stage.calculate(available_n))
}

/// The first cabinets of a hang, the joints of fewer of them closed before.
struct Stage {
    part: Hang,
    /// With the earlier joints locked on their stops.
    mechanism: Mechanism,
    closed: State,
    /// What the stage's chain does without the chain left on.
    alone: ClosedState,
    earlier: std::ops::Range<usize>,
    new: std::ops::Range<usize>,
    /// Levers of the chain left on, by joint.
    left_on_m: Vec<f64>,
}

impl Stage {
    fn new(hang: &Hang, tilt_deg: f64, before: usize, count: usize) -> Result<Self> {
        let tilt_rad = tilt_deg.to_radians();
        let part = hang.first(count);
        let mut mechanism = Mechanism::new(&part, &part.splays_deg, tilt_rad, TopJoint::Locked)?;
        let closed = State::closed(&mechanism);
        let alone = ClosedState::of(&mechanism, &closed);
        let earlier = 1..before.max(1);
        for travel in &mut mechanism.travels[earlier.clone()] {
            travel.open_rad = travel.stop_rad;
        }
        let left_on_m = if earlier.is_empty() {
            Vec::new()
        } else {
            let held = hang.first(before);
            let held = Mechanism::new(&held, &held.splays_deg, tilt_rad, TopJoint::Locked)?;
            let levers = State::closed(&held).lever_m;
            levers.into_iter().map(|lever| -lever).collect()
        };
        Ok(Self {
            part,
            mechanism,
            closed,
            alone,
            new: earlier.end..count,
            earlier,
            left_on_m,
        })
    }

    fn calculate(&self, available_n: f64) -> ClosingStage {
        let mut open: Option<State> = None;
        let mut left_on_peak = Ok(0.0);
        let path = follow(&self.mechanism, STEPS, &mut |state, force_n| {
            open.get_or_insert_with(|| state.clone());
            left_on_peak = self
                .left_on(state, force_n)
                .and_then(|needed_n: f64| left_on_peak.map(|peak_n: f64| peak_n.max(needed_n)));
        });
        let open = open.unwrap_or_else(|| self.closed.clone());
        let needed = ClosedState::of(&self.mechanism, &self.closed);
        let reaches = path.end == PathEnd::Closed;
        let peak_n = path.force_n.iter().copied().fold(0.0, f64::max);
        let end = match (left_on_peak, needed.force_n()) {
            (Err(joint), _) => StageEnd::EarlierOpens { joint },
            (Ok(_), Some(force_n)) if reaches && force_n.max(peak_n) <= available_n => {
                StageEnd::Closes
            }
            (Ok(_), Some(_)) if reaches => StageEnd::TooLittleForce,
            _ => StageEnd::NoForceCloses,
        };
        let lengths_m = [open.chain_m, self.closed.chain_m];
        let gear = self.part.gear.as_ref();
        let closed_n = needed.force_n();
        ClosingStage {
            cabinets: self.part.cabinets.len(),
            joints: self.new.clone().collect(),
            end,
            chain_open_m: open.chain_m,
            chain_closed_m: self.closed.chain_m,
            shortening: gear.map(|gear| choose(gear, lengths_m)),
            closing_force_n: closed_n,
            joint: needed.governing_joint(),
            peak_force_n: reaches.then_some(peak_n),
            left_on_open_n: self.left_on(&open, 0.0).ok(),
            left_on_peak_n: left_on_peak.ok(),
            left_on_closed_n: closed_n.and_then(|force_n| self.left_on(&self.closed, force_n).ok()),
            open_again: closed_n.map_or(Vec::new(), |force_n| self.open_again(force_n)),
            alone_force_n: self.alone.force_n(),
            open_angle_rad: open.angle_rad,
        }
    }

    /// Least force in the chain left on that keeps the earlier joints on their stops, or the joint
    /// that it does not keep there.
    fn left_on(&self, state: &State, force_n: f64) -> std::result::Result<f64, usize> {
        let asked = self.earlier.clone().map(|joint| {
            let moment_nm = state.slope_nm(joint, force_n);
            let rounding_nm = ROUNDING * state.load_nm[joint].abs();
            (joint, moment_nm - rounding_nm, self.left_on_m[joint])
        });
        match ClosedState::holding(asked, self.mechanism.load_n()) {
            ClosedState::Closes { force_n, .. } => Ok(force_n),
            ClosedState::NoLever { joint } => Err(joint),
            ClosedState::OpensAnother { opened, .. } => Err(opened),
        }
    }

    /// Earlier joints that the stage's chain alone does not keep on their stops.
    fn open_again(&self, force_n: f64) -> Vec<usize> {
        let earlier = self.earlier.clone();
        earlier
            .filter(|&joint| {
                let moment_nm = self.closed.slope_nm(joint, force_n);
                moment_nm > ROUNDING * self.closed.load_nm[joint].abs()
            })
            .collect()
    }
}
