//! How the hang closes as the lever hoist shortens the chain.
//!
//! The chain length ℓ goes down from the free hang's; at each length the joints stand where the
//! gravity energy is stationary within their bounds. Between contacts the free joints follow a
//! smooth curve ([`super::curve`]); a joint arriving at a bound, or leaving one because its contact
//! force has come down to zero, begins another ([`super::crossing`]). Where the curve loses
//! stability at held length the hang snaps to the next rest ([`crate::equilibrium::minimum`]). With every joint
//! at a bound the length stands still while the chain force grows until a joint leaves.

use super::contact::{Contact, ContactEvent, PathEnd, Snap};
use super::curve::Curve;
use super::event::Event;
use crate::equilibrium::minimum::{RestEnd, Settling, unbalanced};
use crate::equilibrium::newton::{self, NoStep};
use crate::equilibrium::tolerances::NO_LEVER;
use crate::equilibrium::{Hold, Rest, largest};
use crate::pose::mechanism::Mechanism;
use crate::pose::state::State;
use crate::statics::rest::free_hang;

/// The path of the joints that move, one row per point.
#[derive(Clone, Debug)]
pub(crate) struct Path {
    pub end: PathEnd,
    /// The greatest moment that is not balanced in any row, as a share of all loads at the hang's
    /// length.
    pub residual: f64,
    pub chain_m: Vec<f64>,
    pub force_n: Vec<f64>,
    pub angle_rad: Vec<f64>,
    pub energy_j: Vec<f64>,
    pub events: Vec<ContactEvent>,
    pub snaps: Vec<Snap>,
}

/// Chain lengths this close differ by rounding.
const SAME_M: f64 = 1e-12;
/// Chain lengths this close are one.
const LENGTH_M: f64 = 1e-9;
/// Where no smooth piece goes on, the hang is let find its rest this much farther on.
const HOP_M: f64 = 1e-8;
/// A turn of a millionth takes no smooth chain farther than this.
const SMALL_TURN_RAD: f64 = 1e-6;
const JUMP_M: f64 = 1e-3;

/// Follows the closing path over `steps` equal changes of chain length and shows each row, state and
/// chain force, to `visit`.
pub(crate) fn follow(
    mechanism: &Mechanism,
    steps: usize,
    visit: &mut dyn FnMut(&State, f64),
) -> Path {
    let rows = rows_expected(mechanism, steps);
    let free = free_hang(mechanism);
    let mut follower = Follower {
        arrived: vec![false; mechanism.joints()],
        left: None,
        stuck: (free.end != RestEnd::AtRest).then_some(PathEnd::NoRestFound),
        path: Path {
            end: PathEnd::BudgetSpent,
            residual: 0.0,
            chain_m: Vec::with_capacity(rows),
            force_n: Vec::with_capacity(rows),
            angle_rad: Vec::with_capacity(rows * mechanism.joints()),
            energy_j: Vec::with_capacity(rows),
            events: Vec::new(),
            snaps: Vec::new(),
        },
        curve: Curve::new(mechanism, free.state),
        mechanism,
        visit,
    };
    follower.path.end = follower.run(steps);
    follower.path
}

/// About how many rows a path has: the steps, and a few contacts a joint.
pub(crate) fn rows_expected(mechanism: &Mechanism, steps: usize) -> usize {
    steps + 4 * mechanism.joints()
}

struct Follower<'a> {
    mechanism: &'a Mechanism,
    curve: Curve<'a>,
    /// Joints that have been on their stops.
    arrived: Vec<bool>,
    /// The joint that left a bound last, and the chain length then.
    left: Option<(usize, f64)>,
    /// Why there is no way on.
    stuck: Option<PathEnd>,
    path: Path,
    visit: &'a mut dyn FnMut(&State, f64),
}

impl Follower<'_> {
    fn run(&mut self, steps: usize) -> PathEnd {
        for joint in 0..self.mechanism.joints() {
            if self.curve.rests[joint] == Rest::High && self.mechanism.closes(joint) {
                self.arrived[joint] = true;
                self.note(joint, Contact::OnStopWhenFree, false);
            }
        }
        self.record();
        self.begin_piece();
        let start_m = self.chain_m();
        let closed_m = State::closed(self.mechanism).chain_m;
        let stride = (start_m - closed_m).abs() / steps as f64;
        let mut budget = 60 * (self.mechanism.joints() + 1) + 4 * steps;
        let mut sample = 1;
        while !self.closed() {
            if budget == 0 {
                return PathEnd::BudgetSpent;
            }
            budget -= 1;
            if let Some(end) = self.stuck {
                return end;
            }
            if self.chain_is_blocked() {
                if !self.raise_force() {
                    return PathEnd::Jammed;
                }
                continue;
            }
            let target = start_m - stride * sample as f64;
            if self.curve.now.force_n > NO_LEVER * self.curve.weight_n {
                return PathEnd::Jammed;
            }
            if self.chain_m() < closed_m - LENGTH_M {
                return PathEnd::Overshot;
            }
            self.go_to(target, stride);
            // A stride of none: a chain so long that its closing is lost in rounding.
            while stride > 0.0 && self.chain_m() <= start_m - stride * sample as f64 + SAME_M {
                sample += 1;
            }
        }
        PathEnd::Closed
    }

    fn chain_m(&self) -> f64 {
        self.curve.now.state.chain_m
    }

    fn closed(&self) -> bool {
        self.curve.rests[self.mechanism.hooks..]
            .iter()
            .all(|rest| *rest == Rest::High)
    }

    /// Whether no free joint changes the chain length.
    fn chain_is_blocked(&self) -> bool {
        let Curve { rests, now, .. } = &self.curve;
        (0..rests.len()).all(|joint| rests[joint] != Rest::Free || now.state.lever_m[joint] == 0.0)
    }

    /// Goes to `target_m` or to the first contact event or snap before it.
    fn go_to(&mut self, target_m: f64, stride_m: f64) {
        let mut length = target_m;
        loop {
            match self.curve.go_to(length) {
                Ok(Some(event)) => {
                    self.take_event(event);
                    return;
                }
                Ok(None) => {
                    self.record();
                    if self.curve.now.force_n < 0.0 {
                        self.snap(Hold::Force(0.0), &[]);
                    }
                    return;
                }
                Err(_) => {
                    let nearer = f64::midpoint(self.chain_m(), length);
                    // Of a very long chain nothing may lie between the two lengths.
                    if nearer <= length || self.chain_m() - nearer < 1e-9 * stride_m.max(1e-3) {
                        // Where the curve turns back, its own direction is the one that falls;
                        // where the chain comes off an edge, the one that falls just beyond.
                        let mut ways = vec![self.curve.now.angle_rate.clone()];
                        ways.extend(self.falling_at(&self.beyond(-1.0)));
                        self.snap(Hold::Length(length), &ways);
                        return;
                    }
                    length = nearer;
                }
            }
        }
    }

    fn take_event(&mut self, event: Event) {
        let Event { joint, becomes } = event;
        let Some(bound_rad) = event.bound_rad(self.mechanism) else {
            self.leave(joint);
            self.record();
            self.begin_piece();
            return;
        };
        if self.has_just_left(joint) {
            // Off its bound the joint goes the wrong way: no smooth piece goes on from here.
            self.snap(Hold::Length(self.chain_m() - HOP_M), &[]);
            return;
        }
        let state = &mut self.curve.now.state;
        if state.angle_rad[joint] != bound_rad {
            state.angle_rad[joint] = bound_rad;
            state.update(self.mechanism);
        }
        self.meet(joint, becomes, false);
        self.record();
        self.begin_piece();
    }

    /// Goes on with the joints resting as they do now, or snaps where that does not last.
    fn begin_piece(&mut self) {
        if self.curve.begin_piece().is_ok() {
            return;
        }
        let now = &self.curve.now.state;
        if let Some(direction) = self.falling_at(now) {
            self.snap(Hold::Length(now.chain_m), &[direction]);
        }
    }

    /// A direction along which the energy falls at held length, where the balance does not last.
    fn falling_at(&self, state: &State) -> Option<Vec<f64>> {
        let Curve { now, rests, .. } = &self.curve;
        let held = Hold::Length(state.chain_m);
        match newton::step(state, rests, held, now.force_n, 0.0) {
            Err(NoStep::Unstable(direction)) => Some(direction),
            _ => None,
        }
    }

    /// The state a small turn farther along the curve, or with `sign` above zero a longer chain.
    fn beyond(&self, sign: f64) -> State {
        let now = &self.curve.now;
        let change_m = sign * SMALL_TURN_RAD / largest(&now.angle_rate).max(f64::MIN_POSITIVE);
        let angles = now.state.angle_rad.iter().zip(&now.angle_rate);
        let turned: Vec<f64> = angles
            .map(|(angle, rate)| angle + change_m * rate)
            .collect();
        State::at(self.mechanism, &turned)
    }

    fn has_just_left(&self, joint: usize) -> bool {
        self.left
            .is_some_and(|(left, at_m)| left == joint && (at_m - self.chain_m()).abs() < SAME_M)
    }

    fn leave(&mut self, joint: usize) {
        self.left = Some((joint, self.chain_m()));
        let contact = match self.curve.rests[joint] {
            Rest::High => Contact::LeavesStop,
            _ => Contact::LeavesOpenLimit,
        };
        self.curve.rests[joint] = Rest::Free;
        self.note(joint, contact, false);
    }

    fn meet(&mut self, joint: usize, rest: Rest, in_snap: bool) {
        self.curve.rests[joint] = rest;
        let contact = match rest {
            Rest::High if std::mem::replace(&mut self.arrived[joint], true) => {
                Contact::ReturnsToStop
            }
            Rest::High => Contact::ArrivesAtStop,
            _ => Contact::ReturnsToOpenLimit,
        };
        self.note(joint, contact, in_snap);
    }

    /// With every joint at a bound: the force grows until one leaves. False when none does.
    fn raise_force(&mut self) -> bool {
        let Curve { now, rests, .. } = &self.curve;
        let next = (0..rests.len())
            .filter(|&joint| self.mechanism.travels[joint].moves())
            .filter(|&joint| rests[joint].urge(now.state.lever_m[joint]) > 0.0)
            .map(|joint| (joint, -now.state.load_nm[joint] / now.state.lever_m[joint]))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let Some((joint, force_n)) = next else {
            return false;
        };
        self.curve.now.force_n = force_n.max(now.force_n);
        self.leave(joint);
        self.record();
        self.begin_piece();
        true
    }

    /// Lets the hang fall to its next rest, first along one of `directions` where it is balanced.
    fn snap(&mut self, hold: Hold, directions: &[Vec<f64>]) {
        let before = self.curve.now.state.clone();
        let rests_before = self.curve.rests.clone();
        let force_before_n = self.curve.now.force_n;
        let mut settling = Settling::new(
            self.mechanism,
            before.clone(),
            rests_before.clone(),
            force_before_n,
        );
        let tipped = directions.is_empty()
            || directions
                .iter()
                .any(|direction| settling.tip_over(hold, direction));
        let rested = tipped && settling.settle(hold) == RestEnd::AtRest;
        if !(rested && settling.fits(hold)) {
            self.stuck = Some(if self.chain_slips() {
                PathEnd::ChainSlips
            } else if settling.fits(hold) {
                PathEnd::NoRestFound
            } else {
                PathEnd::Jammed
            });
            return;
        }
        self.curve.now.state = settling.place;
        self.curve.now.force_n = settling.force;
        let after = settling.rests;
        let turn = self
            .curve
            .now
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
            if after[joint] == rest && self.curve.rests[joint] != rest {
                self.meet(joint, rest, true);
            }
        }
        self.curve.rests = after;
        let energy_j = before.energy_j - self.curve.now.state.energy_j;
        if turn > 1e-7 && energy_j > 0.0 {
            self.path.snaps.push(Snap {
                chain_m: before.chain_m,
                force_before_n,
                force_after_n: self.curve.now.force_n,
                greatest_turn_rad: turn,
                energy_j,
            });
        }
        self.record();
        // Where this fails, so does the next step, and the hang snaps on.
        let _ = self.curve.begin_piece();
    }

    /// Whether the chain's length jumps within a small turn along the curve.
    fn chain_slips(&self) -> bool {
        [-1.0, 1.0]
            .into_iter()
            .any(|sign| (self.beyond(sign).chain_m - self.curve.now.state.chain_m).abs() > JUMP_M)
    }

    /// Adds a contact of a joint of the hang; a frame's tilt is no contact.
    fn note(&mut self, joint: usize, contact: Contact, in_snap: bool) {
        let Some(joint) = joint.checked_sub(self.mechanism.hooks) else {
            return;
        };
        self.path.events.push(ContactEvent {
            joint,
            contact,
            chain_m: self.chain_m(),
            force_n: self.curve.now.force_n,
            in_snap,
        });
    }

    fn record(&mut self) {
        let Curve { now, rests, .. } = &self.curve;
        let unbalanced = unbalanced(self.mechanism, &now.state, rests, now.force_n);
        self.path.residual = self.path.residual.max(unbalanced);
        self.path.chain_m.push(now.state.chain_m);
        self.path.force_n.push(now.force_n);
        self.path.angle_rad.extend_from_slice(&now.state.angle_rad);
        self.path.energy_j.push(now.state.energy_j);
        (self.visit)(&now.state, now.force_n);
    }
}
