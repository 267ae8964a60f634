//! The whole closing of a hang in one result.

use super::closed::{ClosedState, Held, straight_line_force_n};
use super::clutch::{ClutchVerdict, Greatest};
use super::forces::JointForces;
use super::friction::{FrictionBand, HingeFriction};
use super::support::{FrameHold, Slack, Support, Walked};
use crate::equilibrium::minimum::RestEnd;
use crate::error::{Result, non_negative, within_range};
use crate::model::Hang;
use crate::pose::Hanging;
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use crate::statics::closing::solver::contact::{Contact, ContactEvent, PathEnd, Snap};
use crate::statics::closing::solver::path::Path;
use crate::statics::limits::{Case, FactorUse, LimitTable};
use crate::statics::rest::{Rested, at_force};

/// Equal changes of chain length behind the limits, whatever the path is asked to show.
const LIMIT_STEPS: usize = 200;

/// What to calculate besides the hang and its tilt.
#[derive(Clone, Debug, PartialEq)]
pub struct ClosingOptions {
    /// How joint 0 is held.
    pub top_joint: TopJoint,
    /// Chain force beyond the closing force.
    pub preload_n: f64,
    /// Equal changes of chain length along the path.
    pub steps: usize,
    /// What holds the frame.
    pub frame: FrameHold,
    /// Factor on all weights while hoists start and stop, for the limits.
    pub dynamic_factor: f64,
    /// Friction in the front hinges.
    pub friction: HingeFriction,
}

impl Default for ClosingOptions {
    fn default() -> Self {
        Self {
            top_joint: TopJoint::Locked,
            preload_n: 0.0,
            steps: 200,
            frame: FrameHold::Held,
            dynamic_factor: 1.0,
            friction: HingeFriction::default(),
        }
    }
}

/// How a hang closes in the end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ClosingEnd {
    /// Every joint is on its stop, and a chain force or gravity holds it there.
    Closed,
    /// The path ended so, with joints open.
    Open(PathEnd),
    /// No chain force holds it closed, whether or not the path comes there.
    NotHeld(ClosedState),
    /// Closed, but both hoists would go slack in turn on the way, which the path does not follow.
    HoistsSlack,
}

impl ClosingEnd {
    fn of(path: PathEnd, closed: ClosedState, slack: Slack) -> Self {
        match (path, closed, slack) {
            (
                PathEnd::Closed | PathEnd::Jammed | PathEnd::Overshot,
                ClosedState::NoLever { .. } | ClosedState::OpensAnother { .. },
                _,
            ) => Self::NotHeld(closed),
            (PathEnd::Closed, _, Slack::Both) => Self::HoistsSlack,
            (PathEnd::Closed, ..) => Self::Closed,
            (open, ..) => Self::Open(open),
        }
    }

    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Closed => PathEnd::Closed.name(),
            Self::Open(path) => path.name(),
            Self::NotHeld(closed) => closed.name(),
            Self::HoistsSlack => "both hoists go slack in turn",
        }
    }
}

/// The path, row by row; angles and forces per joint, locked ones included.
#[derive(Clone, Debug, Default)]
pub struct ClosingPath {
    /// Chain length.
    pub chain_m: Vec<f64>,
    /// Chain force.
    pub force_n: Vec<f64>,
    /// Gravity energy, referred to the free hang.
    pub energy_j: Vec<f64>,
    /// Joint angles.
    pub angle_rad: Vec<Vec<f64>>,
    /// Joint forces.
    pub joints: Vec<JointForces>,
    /// Elevation of the fly frame's axis.
    pub tilt_rad: Vec<f64>,
    /// Load of each hoist; below zero where it would have to push to hold the frame.
    pub hoist_load_n: Vec<Vec<f64>>,
}

/// How a hang closes.
#[derive(Clone, Debug)]
pub struct Closing {
    /// How it ended.
    pub end: ClosingEnd,
    /// The greatest moment that is not balanced in any row of the path, as a share of all loads at
    /// the hang's length.
    pub residual: f64,
    /// Which hoist goes slack on the way.
    pub slack: Slack,
    /// Whether a chain force holds the hang closed, and which.
    pub closed: ClosedState,
    /// What friction in the hinges makes of the closing force, where there is one.
    pub friction_band: Option<FrictionBand>,
    /// Greatest chain force on the way to closed.
    pub peak_force_n: f64,
    /// Joints in order of their first contact with their stops.
    pub order: Vec<usize>,
    /// Straight-line analysis of every joint.
    pub straight_line_force_n: Vec<f64>,
    /// Chain length in the free hang.
    pub chain_free_m: f64,
    /// Chain length with all splays at zero.
    pub chain_straight_m: f64,
    /// Chain length with every joint on its stop.
    pub chain_closed_m: f64,
    /// Joint angles of the free hang.
    pub free_angle_rad: Vec<f64>,
    /// Joint forces when closed, at the closing force.
    pub at_closing: Option<JointForces>,
    /// Joint forces when closed, at the closing force and the preload.
    pub at_preload: Option<JointForces>,
    /// Every contact of a joint with a bound.
    pub events: Vec<ContactEvent>,
    /// Sudden changes on the way.
    pub snaps: Vec<Snap>,
    /// The way from free to closed.
    pub path: ClosingPath,
    /// What the slip clutch makes of it.
    pub clutch: ClutchVerdict,
    /// Every part against its stated limit, the greatest of all states: open, on the way, clutch
    /// slipping, closed, preloaded, clutch at its upper edge, hoists standing or lifting.
    pub limits: LimitTable,
}

impl Closing {
    /// The smallest chain force with every joint on its stop.
    #[must_use]
    pub fn closing_force_n(&self) -> Option<f64> {
        self.closed.force_n()
    }

    /// The joint that asks for the greatest force in the straight-line analysis.
    #[must_use]
    pub fn governing_joint(&self) -> Option<usize> {
        self.closed.governing_joint()
    }
}

/// Follows a hang from free to closed. Its tilt is that at which the frame is held, or hung on two
/// hoists; on one pick the tilt follows from the balance. Picks go front first; without any two
/// hoists take the frame's foremost and rearmost hole.
///
/// # Errors
/// Not a compression hang, no bottom frame or chain anchor, or an option out of range.
pub fn close(hanging: &Hanging<'_>, options: &ClosingOptions) -> Result<Closing> {
    let Hanging { hang, tilt_deg, .. } = *hanging;
    within_range("tilt_deg", tilt_deg, -90.0, 90.0)?;
    non_negative("preload_n", options.preload_n)?;
    within_range("steps", options.steps as f64, 1.0, 1e6)?;
    within_range("dynamic_factor", options.dynamic_factor, 1.0, 5.0)?;
    options.friction.check()?;
    let tilt_rad = tilt_deg.to_radians();
    let support = Support::new(hang, options.frame, tilt_rad, hanging.pick_x_m)?;
    let Walked {
        mechanism,
        path: walked,
        joints,
        hoist_load_n,
        slack,
    } = support.walk(hang, options.top_joint, options.steps)?;
    let hooks = mechanism.hooks;
    let closed = State::closed(&mechanism);
    let closed_state = ClosedState::of(&mechanism, &closed);

    let mut path = ClosingPath::default();
    let clutch_n = hang.gear.as_ref().and_then(|gear| gear.clutch_n);
    let upper_edge_n = clutch_n.map_or(f64::INFINITY, |[_, high]| high);
    let mut limits = LimitTable::default();
    let applied = FactorUse::Applied(options.dynamic_factor);
    let mut open = Greatest::default();
    open.include(walked.force_n[0], &joints[0]);
    open.times(options.dynamic_factor)
        .add_to(&mut limits, hang, Case::Open, [applied; 2]);
    if options.steps == LIMIT_STEPS {
        add_way(
            &mut limits,
            hang,
            &mechanism,
            &walked,
            &joints,
            upper_edge_n,
        );
    } else {
        let again = support.walk(hang, options.top_joint, LIMIT_STEPS)?;
        let Walked {
            mechanism,
            path,
            joints,
            ..
        } = &again;
        add_way(&mut limits, hang, mechanism, path, joints, upper_edge_n);
    }
    let friction_band = closed_state
        .force_n()
        .map(|_| FrictionBand::of(&mechanism, &closed, &options.friction));
    let pulling_n = friction_band.and_then(|band| band.pulling_n);
    let without_n = closed_state.force_n().unwrap_or_default();
    let rubbing_n = pulling_n.filter(|&force_n| without_n < force_n && force_n <= upper_edge_n);
    if let Some(pulling_n) = rubbing_n {
        let mut pulled = Greatest::default();
        pulled.include(pulling_n, &closed.joint_forces(&mechanism, pulling_n));
        pulled.add_to(
            &mut limits,
            hang,
            Case::Closing,
            [FactorUse::HoistsStand; 2],
        );
    }
    let in_reach = closed_state
        .force_n()
        .filter(|&force_n| force_n <= upper_edge_n);
    if let Some(closing_force_n) = in_reach {
        let held = Held {
            mechanism: &mechanism,
            closed: &closed,
            closing_force_n,
        };
        let preload_n = Some(options.preload_n).filter(|&preload| preload > 0.0);
        held.add_to(&mut limits, hang, preload_n, options.dynamic_factor);
    }
    for angles in walked.angle_rad.chunks_exact(mechanism.joints()) {
        path.tilt_rad.push(support.tilt_of(&mechanism, angles));
        path.angle_rad.push(angles[hooks..].to_vec());
    }
    path.energy_j = walked
        .energy_j
        .iter()
        .map(|energy| energy - walked.energy_j[0])
        .collect();
    path.joints = joints;
    path.hoist_load_n = hoist_load_n;
    path.chain_m = walked.chain_m;
    path.force_n = walked.force_n;

    let peak_force_n = path.force_n.iter().copied().fold(0.0, f64::max);
    let needed_n = (walked.end == PathEnd::Closed)
        .then_some(pulling_n)
        .flatten()
        .map(|force| (force + options.preload_n).max(peak_force_n));
    let at = |extra: f64| {
        closed_state
            .force_n()
            .map(|force| closed.joint_forces(&mechanism, force + extra))
    };
    let straight_rad: Vec<f64> = mechanism
        .travels
        .iter()
        .enumerate()
        .map(|(joint, travel)| {
            if mechanism.closes(joint) {
                0.0
            } else {
                travel.stop_rad
            }
        })
        .collect();
    Ok(Closing {
        end: ClosingEnd::of(walked.end, closed_state, slack),
        residual: walked.residual,
        slack,
        closed: closed_state,
        friction_band,
        peak_force_n,
        order: order_of(&walked.events),
        straight_line_force_n: straight_line_force_n(&mechanism, &closed),
        chain_free_m: path.chain_m[0],
        chain_straight_m: State::at(&mechanism, &straight_rad).chain_m,
        chain_closed_m: closed.chain_m,
        free_angle_rad: path.angle_rad[0].clone(),
        at_closing: at(0.0),
        at_preload: at(options.preload_n),
        events: walked.events,
        snaps: walked.snaps,
        path,
        clutch: ClutchVerdict::of(clutch_n, needed_n),
        limits,
    })
}

/// Adds the greatest forces on the way, and where the clutch ends it, those with the clutch slipping.
fn add_way(
    limits: &mut LimitTable,
    hang: &Hang,
    mechanism: &Mechanism,
    path: &Path,
    joints: &[JointForces],
    upper_edge_n: f64,
) {
    let factors = [FactorUse::HoistsStand; 2];
    let within = path
        .force_n
        .iter()
        .take_while(|&&force_n| force_n <= upper_edge_n);
    let reached = within.count();
    let mut greatest = Greatest::default();
    for (&force_n, forces) in path.force_n[..reached].iter().zip(joints) {
        greatest.include(force_n, forces);
    }
    greatest.add_to(limits, hang, Case::Closing, factors);
    if reached < joints.len() {
        let angles = path.angle_rad.chunks_exact(mechanism.joints());
        let last = angles.take(reached).next_back();
        let slid = at_force(mechanism, upper_edge_n, last);
        let mut slipping = Greatest::default();
        if slid.end == RestEnd::AtRest {
            let forces = slid.state.joint_forces(mechanism, upper_edge_n);
            slipping.include(upper_edge_n, &forces);
        } else {
            slipping.include(path.force_n[reached], &joints[reached]);
        }
        slipping.add_to(limits, hang, Case::ClutchSlips, factors);
    }
}

/// The hang at rest with a given chain force.
#[derive(Clone, Debug)]
pub struct RestAtForce {
    /// How the descent ended.
    pub end: RestEnd,
    /// The greatest moment that is not balanced, over all loads at the hang's length.
    pub residual: f64,
    /// Joint angles.
    pub angle_rad: Vec<f64>,
    /// Chain length.
    pub chain_m: f64,
    /// Joint forces.
    pub joints: JointForces,
}

/// The rest that a hang comes to from straight joints with `force_n` in the chain, frame held at
/// its tilt: a least value of V = U + T L within the bounds. Where the hang snaps there are
/// several; this gives the one that a descent from straight joints reaches.
///
/// # Errors
/// A force below zero, or as [`close`].
pub fn rest_at_force(
    hanging: &Hanging<'_>,
    force_n: f64,
    top_joint: TopJoint,
) -> Result<RestAtForce> {
    let Hanging { hang, tilt_deg, .. } = *hanging;
    within_range("tilt_deg", tilt_deg, -90.0, 90.0)?;
    non_negative("force_n", force_n)?;
    let mechanism = Mechanism::new(hang, &hang.splays_deg, tilt_deg.to_radians(), top_joint)?;
    let Rested {
        state,
        end,
        residual,
        ..
    } = at_force(&mechanism, force_n, None);
    Ok(RestAtForce {
        end,
        residual,
        chain_m: state.chain_m,
        joints: state.joint_forces(&mechanism, force_n),
        angle_rad: state.angle_rad,
    })
}

fn order_of(events: &[ContactEvent]) -> Vec<usize> {
    events
        .iter()
        .filter(|event| {
            matches!(
                event.contact,
                Contact::OnStopWhenFree | Contact::ArrivesAtStop
            )
        })
        .map(|event| event.joint)
        .collect()
}
