//! How the hang closes as the lever hoist shortens the chain.
//!
//! The chain length ℓ goes down from the free hang's; at each length the joints stand where the
//! gravity energy is stationary within their bounds. Between contacts the free joints follow a
//! smooth curve (Newton, see [`super::descent`]); a joint arriving at a bound, or leaving one
//! because its contact force has come down to zero, is located on the curve. Where the curve loses
//! stability at held length the hang snaps to the next rest ([`super::settle`]). With every joint
//! at a bound the length stands still while the chain force grows until a joint leaves.

use super::descent::{NoStep, Reducer, Rest, rests_at, urge_nm};
use super::mechanism::Mechanism;
use super::settle::{Hold, Settling, largest};
use super::state::State;
use crate::statics::balance::GRAVITY_M_S2;

/// How a closing path ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PathEnd {
    /// Every joint is on its stop.
    Closed,
    /// Joints are open that no chain force moves any further.
    Jammed,
    /// The chain is shorter than the closed hang needs, and joints are open.
    Overshot,
    /// The hang changed contacts more often than the budget allows.
    BudgetSpent,
}

impl PathEnd {
    /// One plain word for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Closed => "closed",
            Self::Jammed => "jammed",
            Self::Overshot => "overshot",
            Self::BudgetSpent => "budget spent",
        }
    }
}

/// What a joint does at a contact event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contact {
    /// Rests on its stop in the free hang, with no force in the chain.
    OnStopWhenFree,
    /// Leaves its open limit.
    LeavesOpenLimit,
    /// Comes back to its open limit.
    ReturnsToOpenLimit,
    /// Arrives at its stop for the first time.
    ArrivesAtStop,
    /// Leaves its stop.
    LeavesStop,
    /// Comes back to its stop.
    ReturnsToStop,
}

impl Contact {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::OnStopWhenFree => "on stop when free",
            Self::LeavesOpenLimit => "leaves open limit",
            Self::ReturnsToOpenLimit => "returns to open limit",
            Self::ArrivesAtStop => "arrives at stop",
            Self::LeavesStop => "leaves stop",
            Self::ReturnsToStop => "returns to stop",
        }
    }
}

/// One joint meeting or leaving a bound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ContactEvent {
    /// The joint's number in the hang.
    pub joint: usize,
    /// What it does.
    pub contact: Contact,
    /// Chain length then.
    pub chain_m: f64,
    /// Chain force then.
    pub force_n: f64,
    /// Whether it is part of a snap.
    pub in_snap: bool,
}

/// A sudden change of angles at one chain length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Snap {
    /// Chain length.
    pub chain_m: f64,
    /// Chain force before.
    pub force_before_n: f64,
    /// Chain force after.
    pub force_after_n: f64,
    /// Greatest change of a joint's angle.
    pub greatest_turn_rad: f64,
    /// Gravity energy set free.
    pub energy_j: f64,
}

/// The path of the joints that move, one row a point.
#[derive(Clone, Debug)]
pub(crate) struct Path {
    pub end: PathEnd,
    pub chain_m: Vec<f64>,
    pub force_n: Vec<f64>,
    pub angle_rad: Vec<f64>,
    pub energy_j: Vec<f64>,
    pub events: Vec<ContactEvent>,
    pub snaps: Vec<Snap>,
}

/// The last of Newton's steps is no larger than this; what it leaves is of the order of its square.
const EXACT_RAD: f64 = 3e-7;
/// A contact moment counts as zero below the weight at this lever.
const NO_MOMENT_M: f64 = 1e-10;
/// Greatest turn of a joint in one step.
const REACH_RAD: f64 = 0.3;
/// Chain lengths this close differ by rounding.
const SAME_M: f64 = 1e-12;
/// Chain lengths this close are one.
const LENGTH_M: f64 = 1e-9;
/// Radians, or metres of lever of the weight, beyond which an event has happened.
const PASSED: f64 = 1e-12;
/// A chain force above this multiple of the weight closes nothing more.
const FORCE_CAP: f64 = 1e4;

/// The rest of the hang with no force in the chain, sought from the open limits, where most joints
/// come to rest.
pub(crate) fn free_hang(mechanism: &Mechanism) -> State {
    let mut open: Vec<f64> = mechanism
        .travels
        .iter()
        .map(|travel| travel.open_rad)
        .collect();
    mechanism.hang_plumb(&mut open);
    at_force(mechanism, 0.0, Some(&open)).0
}

/// The rest of the hang at a chain force, reached from `start` or from straight joints.
pub(crate) fn at_force(
    mechanism: &Mechanism,
    force_n: f64,
    start_rad: Option<&[f64]>,
) -> (State, bool) {
    let straight: Vec<f64>;
    let start = match start_rad {
        Some(start) => start,
        None => {
            let mut plumb = mechanism
                .travels
                .iter()
                .map(|travel| 0.0_f64.clamp(travel.open_rad, travel.stop_rad))
                .collect::<Vec<_>>();
            mechanism.hang_plumb(&mut plumb);
            straight = plumb;
            &straight
        }
    };
    let rests = rests_at(mechanism, start);
    let mut settling = Settling::new(mechanism, State::at(mechanism, start), rests, force_n);
    let rested = settling.settle(Hold::Force(force_n));
    (settling.state, rested)
}

/// Follows the closing path over `steps` equal changes of chain length.
pub(crate) fn follow(mechanism: &Mechanism, steps: usize) -> Path {
    let state = free_hang(mechanism);
    let mut follower = Follower::new(mechanism, state);
    let end = follower.run(steps);
    follower.path.end = end;
    follower.path
}

struct Follower<'a> {
    mechanism: &'a Mechanism,
    state: State,
    trial: State,
    rests: Vec<Rest>,
    force_n: f64,
    reducer: Reducer,
    weight_n: f64,
    /// Change of the angles in the last step.
    heading_rad: Vec<f64>,
    arrived: Vec<bool>,
    /// No rest was found where the hang snapped to.
    stuck: bool,
    path: Path,
}

/// A joint coming to rest on a bound, or leaving one.
#[derive(Clone, Copy)]
struct Event {
    joint: usize,
    becomes: Rest,
}

/// A step that loses stability or does not converge.
struct Hindrance;

impl<'a> Follower<'a> {
    fn new(mechanism: &'a Mechanism, state: State) -> Self {
        let rests = rests_at(mechanism, &state.angle_rad);
        Self {
            mechanism,
            trial: state.clone(),
            state,
            heading_rad: vec![0.0; rests.len()],
            arrived: vec![false; rests.len()],
            stuck: false,
            rests,
            force_n: 0.0,
            reducer: Reducer::default(),
            weight_n: GRAVITY_M_S2 * mechanism.bodies.iter().map(|b| b.mass_kg).sum::<f64>(),
            path: Path {
                end: PathEnd::BudgetSpent,
                chain_m: Vec::new(),
                force_n: Vec::new(),
                angle_rad: Vec::new(),
                energy_j: Vec::new(),
                events: Vec::new(),
                snaps: Vec::new(),
            },
        }
    }

    fn run(&mut self, steps: usize) -> PathEnd {
        for joint in 0..self.rests.len() {
            if self.rests[joint] == Rest::Stop && self.mechanism.closes(joint) {
                self.arrived[joint] = true;
                self.note(joint, Contact::OnStopWhenFree, false);
            }
        }
        self.record();
        let start_m = self.state.chain_m;
        let closed_m = State::at(self.mechanism, &self.mechanism.closed_rad()).chain_m;
        let stride = (start_m - closed_m).abs() / steps as f64;
        let mut budget = 60 * (self.rests.len() + 1) + 4 * steps;
        let mut sample = 1;
        while !self.closed() {
            if budget == 0 {
                return PathEnd::BudgetSpent;
            }
            budget -= 1;
            if self.chain_is_blocked() {
                if !self.raise_force() {
                    return PathEnd::Jammed;
                }
                continue;
            }
            let target = start_m - stride * sample as f64;
            if self.stuck || self.force_n > FORCE_CAP * self.weight_n {
                return PathEnd::Jammed;
            }
            if self.state.chain_m < closed_m - LENGTH_M {
                return PathEnd::Overshot;
            }
            self.go_to(target, stride);
            while self.state.chain_m <= start_m - stride * sample as f64 + SAME_M {
                sample += 1;
            }
        }
        PathEnd::Closed
    }

    fn closed(&self) -> bool {
        self.rests[self.mechanism.hooks..]
            .iter()
            .all(|rest| *rest == Rest::Stop)
    }

    /// Whether no free joint changes the chain length.
    fn chain_is_blocked(&self) -> bool {
        (0..self.rests.len())
            .all(|joint| self.rests[joint] != Rest::Free || self.state.lever_m[joint] == 0.0)
    }

    /// Goes to `target_m` or to the first contact event or snap before it.
    fn go_to(&mut self, target_m: f64, stride_m: f64) {
        let mut length = target_m;
        loop {
            match self.correct(length) {
                Ok(force) => {
                    if let Some((event, length)) = self.first_event(length, force) {
                        self.take_event(event, length);
                        return;
                    }
                    self.accept(force);
                    self.record();
                    if force < 0.0 {
                        self.snap(Hold::Force(0.0), None);
                    }
                    return;
                }
                Err(Hindrance) => {
                    let nearer = (self.state.chain_m + length) / 2.0;
                    if self.state.chain_m - nearer < 1e-9 * stride_m.max(1e-3) {
                        // Where the curve turns back, its own direction is the one that falls.
                        let heading = self.heading_rad.clone();
                        self.snap(Hold::Length(length), Some(&heading));
                        return;
                    }
                    length = nearer;
                }
            }
        }
    }

    /// Brings the trial state from the present state to `chain_m` in the present phase and gives
    /// the chain force there.
    fn correct(&mut self, chain_m: f64) -> Result<f64, Hindrance> {
        self.trial.angle_rad.clone_from(&self.state.angle_rad);
        self.newton(chain_m, self.force_n, true)
    }

    /// As `correct`, from where the trial state stands, with the chain force there.
    fn correct_on(&mut self, chain_m: f64, force_n: f64) -> Result<f64, Hindrance> {
        self.newton(chain_m, force_n, false)
    }

    fn newton(&mut self, chain_m: f64, force_n: f64, from_state: bool) -> Result<f64, Hindrance> {
        let mut force = force_n;
        let mut reach_rad = REACH_RAD;
        for round in 0..12 {
            let fresh = from_state && round == 0;
            let base = if fresh { &self.state } else { &self.trial };
            let step = self
                .reducer
                .step(base, &self.rests, force, chain_m)
                .map_err(|_| Hindrance)?;
            let size = largest(&step.change_rad);
            if fresh {
                reach_rad = (3.0 * size + EXACT_RAD).min(REACH_RAD);
            }
            let mut moved_rad = 0.0_f64;
            for (joint, change) in step.change_rad.iter().enumerate() {
                self.trial.angle_rad[joint] += change;
                let moved = self.trial.angle_rad[joint] - self.state.angle_rad[joint];
                moved_rad = moved_rad.max(moved.abs());
            }
            // Farther than a few first steps is another branch of the curve.
            if moved_rad > reach_rad {
                return Err(Hindrance);
            }
            self.trial.update(self.mechanism);
            force = step.force_n;
            if size < EXACT_RAD {
                return Ok(force);
            }
        }
        Err(Hindrance)
    }

    /// By how much `event` has happened; positive is past it.
    fn excess(&self, state: &State, event: Event, force_n: f64) -> f64 {
        let joint = event.joint;
        let travel = &self.mechanism.travels[joint];
        let angle = state.angle_rad[joint];
        match event.becomes {
            Rest::Stop => angle - travel.stop_rad,
            Rest::Open => travel.open_rad - angle,
            Rest::Free => {
                let slope = state.slope_nm(joint, force_n);
                urge_nm(self.rests[joint], slope) / self.weight_n - NO_MOMENT_M
            }
        }
    }

    /// The event that has happened to `joint` in the trial state, if any.
    fn passed(&self, joint: usize, force_n: f64) -> Option<Event> {
        if !self.mechanism.travels[joint].moves() {
            return None;
        }
        let possible: &[Rest] = match self.rests[joint] {
            Rest::Free => &[Rest::Stop, Rest::Open],
            _ => &[Rest::Free],
        };
        possible
            .iter()
            .map(|&becomes| Event { joint, becomes })
            .find(|&event| self.excess(&self.trial, event, force_n) > PASSED)
    }

    /// The first event between the state and the trial at `length`, with its chain length.
    fn first_event(&mut self, length: f64, force: f64) -> Option<(Event, f64)> {
        let (mut near, mut near_force) = (length, force);
        let mut found: Option<(Event, f64)> = None;
        for _ in 0..=2 * self.rests.len() {
            let earliest = (0..self.rests.len())
                .filter(|&joint| found.is_none_or(|(event, _)| event.joint != joint))
                .filter_map(|joint| self.passed(joint, near_force))
                .map(|event| {
                    let after = self.excess(&self.trial, event, near_force);
                    let before = self.excess(&self.state, event, self.force_n).min(0.0);
                    (event, -before / (after - before))
                })
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let Some((event, _)) = earliest else { break };
            near = self.locate(event, near, near_force);
            found = Some((event, near));
            near_force = match self.correct_on(near, near_force) {
                Ok(force) => force,
                Err(Hindrance) => break,
            };
        }
        found
    }

    /// Chain length at which `event` happens, between the state and `far_m`.
    fn locate(&mut self, event: Event, far_m: f64, far_force: f64) -> f64 {
        let mut low = (
            self.state.chain_m,
            self.excess(&self.state, event, self.force_n),
        );
        let mut high = (far_m, self.excess(&self.trial, event, far_force));
        if low.1 >= 0.0 {
            return low.0;
        }
        let mut side = 0;
        let mut force = far_force;
        for _ in 0..60 {
            let middle = low.0 + (high.0 - low.0) * low.1 / (low.1 - high.1);
            force = match self.correct_on(middle, force) {
                Ok(force) => force,
                Err(Hindrance) => return middle,
            };
            let value = self.excess(&self.trial, event, force);
            if value.abs() < PASSED || (high.0 - low.0).abs() < 1e-13 {
                return middle;
            }
            // Illinois rule: halve the value of an end that stays (Dowell & Jarratt, 1971).
            if value > 0.0 {
                high = (middle, value);
                if side == 1 {
                    low.1 /= 2.0;
                }
                side = 1;
            } else {
                low = (middle, value);
                if side == -1 {
                    high.1 /= 2.0;
                }
                side = -1;
            }
        }
        (low.0 + high.0) / 2.0
    }

    fn take_event(&mut self, event: Event, length: f64) {
        if let Ok(force) = self.correct(length) {
            self.accept(force);
        }
        let Event { joint, becomes } = event;
        if becomes != Rest::Free {
            let travel = self.mechanism.travels[joint];
            self.state.angle_rad[joint] = match becomes {
                Rest::Stop => travel.stop_rad,
                _ => travel.open_rad,
            };
            self.state.update(self.mechanism);
            self.meet(joint, becomes, false);
            self.record();
            return;
        }
        self.leave(joint);
        self.record();
        let stable = self
            .reducer
            .step(&self.state, &self.rests, self.force_n, self.state.chain_m);
        if let Err(NoStep::Unstable(direction)) = stable {
            self.snap(Hold::Length(self.state.chain_m), Some(&direction));
        }
    }

    fn leave(&mut self, joint: usize) {
        let contact = match self.rests[joint] {
            Rest::Stop => Contact::LeavesStop,
            _ => Contact::LeavesOpenLimit,
        };
        self.rests[joint] = Rest::Free;
        self.note(joint, contact, false);
    }

    fn meet(&mut self, joint: usize, rest: Rest, in_snap: bool) {
        self.rests[joint] = rest;
        let contact = match rest {
            Rest::Stop if std::mem::replace(&mut self.arrived[joint], true) => {
                Contact::ReturnsToStop
            }
            Rest::Stop => Contact::ArrivesAtStop,
            _ => Contact::ReturnsToOpenLimit,
        };
        self.note(joint, contact, in_snap);
    }

    /// With every joint at a bound: the force grows until one leaves. False when none does.
    fn raise_force(&mut self) -> bool {
        let next = (0..self.rests.len())
            .filter(|&joint| self.mechanism.travels[joint].moves())
            .filter(|&joint| urge_nm(self.rests[joint], self.state.lever_m[joint]) > 0.0)
            .map(|joint| {
                (
                    joint,
                    -self.state.gravity_nm[joint] / self.state.lever_m[joint],
                )
            })
            .min_by(|a, b| a.1.total_cmp(&b.1));
        match next {
            Some((joint, force)) => {
                self.force_n = force.max(self.force_n);
                self.leave(joint);
                self.record();
                true
            }
            None => false,
        }
    }

    /// Lets the hang fall to its next rest, first along `direction` where the balance is exact.
    fn snap(&mut self, hold: Hold, direction: Option<&[f64]>) {
        let before = self.state.clone();
        let rests_before = self.rests.clone();
        let mut settling = Settling::new(
            self.mechanism,
            self.state.clone(),
            self.rests.clone(),
            self.force_n,
        );
        let tipped = direction.is_none_or(|direction| settling.tip_over(hold, direction));
        if !(tipped && settling.settle(hold) && settling.misfit(hold) < LENGTH_M) {
            self.stuck = true;
            return;
        }
        let force_before_n = self.force_n;
        self.state = settling.state;
        self.force_n = settling.force_n;
        let after = settling.rests;
        let turn = self
            .state
            .angle_rad
            .iter()
            .zip(&before.angle_rad)
            .fold(0.0_f64, |most, (a, b)| most.max((a - b).abs()));
        for joint in 0..after.len() {
            if after[joint] == Rest::Free && rests_before[joint] != Rest::Free {
                self.leave(joint);
            }
        }
        for (joint, rest) in settling.met {
            if after[joint] == rest && self.rests[joint] != rest {
                self.meet(joint, rest, true);
            }
        }
        self.rests = after;
        if turn > 1e-7 {
            self.path.snaps.push(Snap {
                chain_m: before.chain_m,
                force_before_n,
                force_after_n: self.force_n,
                greatest_turn_rad: turn,
                energy_j: before.energy_j - self.state.energy_j,
            });
        }
        self.record();
    }

    fn accept(&mut self, force: f64) {
        std::mem::swap(&mut self.state, &mut self.trial);
        self.force_n = force;
        self.heading_rad.clear();
        self.heading_rad.extend(
            self.state
                .angle_rad
                .iter()
                .zip(&self.trial.angle_rad)
                .map(|(now, before)| now - before),
        );
    }

    /// Adds a contact of a joint of the hang; a frame's tilt is no contact.
    fn note(&mut self, joint: usize, contact: Contact, in_snap: bool) {
        let Some(joint) = joint.checked_sub(self.mechanism.hooks) else {
            return;
        };
        self.path.events.push(ContactEvent {
            joint,
            contact,
            chain_m: self.state.chain_m,
            force_n: self.force_n,
            in_snap,
        });
    }

    fn record(&mut self) {
        self.path.chain_m.push(self.state.chain_m);
        self.path.force_n.push(self.force_n);
        self.path.angle_rad.extend_from_slice(&self.state.angle_rad);
        self.path.energy_j.push(self.state.energy_j);
    }
}
