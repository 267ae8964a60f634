//! What does every part of a rigged hang carry in a steady wind?
//!
//! The hang of `super::blown` with all its joints pinned, or closed by its chain. In still air the
//! chain carries T₀, the closing force and the preload, at the closed length L₀. In the wind it is a
//! spring of stiffness k that only pulls, T = T₀ + k (L − L₀), and the hang rests where
//! U(θ) + ½ k (L − L₀ + T₀/k)² is least within the joints' bounds; a stop that would have to pull
//! lifts off. A chain locked at L₀ keeps T₀ while that holds every stop, else it takes the closing
//! force in the wind.

use super::blown::{From, Hung, Push, WindInput, blown, check, forces, picks_m, pushes};
use crate::equilibrium::Hold;
use crate::equilibrium::minimum::RestEnd;
use crate::error::{InputError, Result, non_negative, positive};
use crate::model::{Hang, Rigging};
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use crate::pose::{Hanging, Pose, Vec2};
use crate::statics::closing::answers::clutch::Greatest;
use crate::statics::closing::{ClosedState, JointForces};
use crate::statics::limits::{Case, FactorUse, Lifting, LimitTable, Part};
use crate::statics::rest::{Rested, settled};

/// A stop has lifted off once its joint has turned further than this.
const LIFTED_RAD: f64 = 1e-10;

/// The chain of a closed hang.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct TautChain {
    /// Chain force in still air beyond the closing force.
    pub preload_n: f64,
    /// Force over stretch; `None` is a chain locked at its length.
    pub stiffness_n_m: Option<f64>,
}

/// How a rigged hang in the wind ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PartsEnd {
    /// At rest.
    AtRest,
    /// No chain force closes it in still air.
    NotClosed,
    /// It was not found at rest.
    NoRest,
}

impl PartsEnd {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::AtRest => "at rest",
            Self::NotClosed => "not closed",
            Self::NoRest => "no rest found",
        }
    }
}

/// A rigged hang at rest in the wind, joints top to bottom, fixed ones included.
#[derive(Clone, Debug)]
pub struct PartsInWind {
    /// How it ends.
    pub end: PartsEnd,
    /// The greatest moment that is not balanced, over all loads at the hang's length.
    pub residual: f64,
    /// Force on everything, in the direction of the wind.
    pub total_n: f64,
    /// Tilt of the frame.
    pub tilt_rad: f64,
    /// Pull of each hoist along its line; 0 where slack.
    pub hoist_n: Vec<f64>,
    /// Chain force in still air; 0 without a chain.
    pub still_chain_n: f64,
    /// Chain force in the wind.
    pub chain_n: f64,
    /// Chain length in the wind.
    pub chain_m: f64,
    /// By how much each joint has come off its stop.
    pub opening_rad: Vec<f64>,
    /// Stops that have lifted off.
    pub lifted: Vec<bool>,
    /// Forces of joints.
    pub joints: JointForces,
    /// Every part against its stated limit.
    pub limits: LimitTable,
}

/// The parts of `hang` in a steady wind from the front or the rear. A compression hang is closed,
/// whatever `input.closed` says.
///
/// # Errors
/// Wind from the side, a preload below zero, a stiffness not above zero, a limit or mass out of
/// range, or as [`super::swing::wind_loads`] and [`crate::statics::closing::close`].
pub fn parts_in_wind(
    hanging: &Hanging<'_>,
    input: &WindInput,
    chain: &TautChain,
    lifting: &Lifting,
) -> Result<PartsInWind> {
    let hang = hanging.hang;
    let placed = check(hanging, input)?;
    lifting.check()?;
    non_negative("preload_n", chain.preload_n)?;
    if let Some(stiffness_n_m) = chain.stiffness_n_m {
        positive("chain_stiffness_n_m", stiffness_n_m)?;
    }
    if input.from == From::Side {
        let allowed = "front or rear; for a side see the forces of left and right";
        return Err(InputError::new("wind_from", "side", allowed));
    }
    let (_, force_n) = forces(hang, input, &placed)?;
    let direction = input.from.direction();
    let pushes = pushes(input, &placed, &force_n, direction)?;
    let total_n: f64 = pushes.iter().map(|push| push.force_n.abs()).sum();
    let tilt_rad = placed.frame_axis_rad;
    let closes = hang.rigging == Rigging::Compression;
    let base = if closes {
        Mechanism::new(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked)?
    } else {
        Mechanism::of(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked)
    };
    let lines = Lines {
        hanging,
        placed: &placed,
        picks_m: picks_m(hanging, &placed),
    };
    let mut end = PartsEnd::AtRest;
    let mut still_n = 0.0;
    let mut hold = Hold::Force(0.0);
    if closes {
        let mut locked = base.clone();
        locked.lock_at_stops();
        let still = lines.rest(&locked, &[], 0.0, Hold::Force(0.0));
        let mut closing = still.mechanism.clone();
        for (travel, open) in closing.travels[closing.hooks..]
            .iter_mut()
            .zip(&base.travels)
        {
            *travel = *open;
        }
        match ClosedState::of(&closing, &still.rested.state).force_n() {
            Some(force_n) => still_n = force_n + chain.preload_n,
            None => end = PartsEnd::NotClosed,
        }
        let closed_m = still.rested.state.chain_m;
        hold = match chain.stiffness_n_m {
            Some(rate) => Hold::Spring {
                rate,
                slack: closed_m - still_n / rate,
            },
            None => Hold::Length(closed_m),
        };
    }
    let hung = lines.rest(&base, &pushes, still_n, hold);
    let state = &hung.rested.state;
    let hooks = hung.mechanism.hooks;
    let chain_n = match hold {
        Hold::Spring { rate, slack } => rate * (state.chain_m - slack).max(0.0),
        _ => hung.rested.force_n,
    };
    if end == PartsEnd::AtRest && hung.rested.end != RestEnd::AtRest {
        end = PartsEnd::NoRest;
    }
    let travels = hung.mechanism.travels[hooks..].iter();
    let angles = state.angle_rad[hooks..].iter();
    let opening_rad: Vec<f64> = travels
        .zip(angles)
        .map(|(travel, angle)| travel.stop_rad - angle)
        .take(hang.joint_count())
        .collect();
    let mut joints = state.joint_forces(&hung.mechanism, chain_n);
    joints.keep_first(hang.joint_count());
    let mut found = PartsInWind {
        end,
        residual: hung.rested.residual,
        total_n,
        tilt_rad: if hooks == 1 {
            -state.angle_rad[0]
        } else {
            tilt_rad
        },
        still_chain_n: still_n,
        chain_n,
        chain_m: if closes { state.chain_m } else { 0.0 },
        lifted: opening_rad.iter().map(|&open| open > LIFTED_RAD).collect(),
        opening_rad,
        joints,
        limits: LimitTable::default(),
        hoist_n: hung.hoist_n,
    };
    found.add_limits(hang, placed.weight_n(), lifting, closes);
    Ok(found)
}

/// The lines a hang is on, and how it was hung on them.
struct Lines<'a> {
    hanging: &'a Hanging<'a>,
    placed: &'a Pose,
    picks_m: Vec<Vec2>,
}

/// A hang at rest on the lines that pull.
struct OnLines {
    mechanism: Mechanism,
    rested: Rested,
    /// One per pick, 0 where slack.
    hoist_n: Vec<f64>,
}

impl Lines<'_> {
    /// Settles from the stops; a line that would have to push goes slack, and the frame turns on the
    /// other.
    fn rest(&self, base: &Mechanism, pushes: &[Push], force_n: f64, hold: Hold) -> OnLines {
        let wind_n: f64 = pushes.iter().map(|push| push.force_n).sum();
        let mut held: Vec<usize> = (0..self.picks_m.len()).collect();
        loop {
            let held_m: Vec<Vec2> = held.iter().map(|&hoist| self.picks_m[hoist]).collect();
            let pick_x_m = (held.len() == 1).then(|| self.hanging.pick_x_m[held[0]]);
            let mechanism = blown(
                self.hanging.hang,
                base.clone(),
                self.placed,
                pushes,
                pick_x_m,
            );
            let rested = settled(&mechanism, State::closed(&mechanism), force_n, hold);
            let hung = Hung::new(&mechanism, &rested, &held_m, self.hanging.top_m);
            let pulls = hung.pulls_n(&held_m, wind_n);
            if let (2, Some(slack)) = (held.len(), pulls.iter().position(|&pull| pull < 0.0)) {
                held.remove(slack);
                continue;
            }
            let mut hoist_n = vec![0.0; self.picks_m.len()];
            for (&hoist, pull) in held.iter().zip(pulls) {
                hoist_n[hoist] = pull;
            }
            return OnLines {
                mechanism,
                rested,
                hoist_n,
            };
        }
    }
}

impl PartsInWind {
    fn add_limits(&mut self, hang: &Hang, weight_n: f64, lifting: &Lifting, closes: bool) {
        let (case, factor) = (Case::InWind, FactorUse::HoistsStand);
        let resultant_n = weight_n.hypot(self.total_n);
        let frame = &hang.frame.limits;
        let mut add = |part, demand_n, limit_n| {
            self.limits.add(part, demand_n, limit_n, case, factor);
        };
        add(Part::FlyFrame, resultant_n, frame.total_n);
        let hoist_weight_n = lifting.hoist_mass_kg * hang.gravity_m_s2;
        let [level, plumb] = [self.total_n, weight_n].map(|part| part / resultant_n);
        for (index, &pull_n) in self.hoist_n.iter().enumerate() {
            let roof_n = (pull_n * level).hypot(pull_n * plumb + hoist_weight_n);
            add(Part::Pick(index), pull_n, frame.pick_n);
            add(Part::Hoist(index), pull_n, lifting.hoist_limit_n);
            add(Part::RoofPoint(index), roof_n, lifting.roof_point_limit_n);
        }
        let mut greatest = Greatest::default();
        greatest.include(self.chain_n, &self.joints);
        if closes {
            greatest.add_to(&mut self.limits, hang, case, [factor; 2]);
        } else {
            greatest.add_joints_to(&mut self.limits, hang, case, factor);
        }
    }
}
