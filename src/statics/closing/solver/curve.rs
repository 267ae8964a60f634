//! The smooth curve of balances between two contacts, with the chain length as its parameter.
//!
//! Every point carries its derivatives by the length. The next point is foretold by the cubic
//! through the last two points and their derivatives (Hermite), then corrected by Newton's method
//! with [`Stiffness`]; the same factors give the derivatives there.

use super::event::Event;
use super::stiffness::{Stiffness, Unstable};
use crate::equilibrium::{Rest, rests_at};
use crate::pose::mechanism::Mechanism;
use crate::pose::state::State;

/// A correction this small leaves no more than rounding, being squared in the next.
const EXACT_RAD: f64 = 1e-8;
/// Slopes below this share of the weight at a metre, and lengths this near, are balanced.
const BALANCED: f64 = 1e-13;
/// Greatest turn of a joint in one step.
const REACH_RAD: f64 = 0.3;
/// A cubic is not carried on farther than this many of its own lengths.
const CARRY_ON: f64 = 2.5;
/// A contact moment counts as zero below the weight at this lever.
const NO_MOMENT_M: f64 = 1e-10;
const MOST_ROUNDS: usize = 12;

/// A step that loses stability or does not converge.
pub(crate) struct Hindrance;

impl From<Unstable> for Hindrance {
    fn from(_: Unstable) -> Self {
        Self
    }
}

/// A balance on the curve.
#[derive(Clone, Debug)]
pub(crate) struct Point {
    pub state: State,
    pub force_n: f64,
    /// Derivatives by the chain length.
    pub angle_rate: Vec<f64>,
    pub force_rate: f64,
}

/// What a correction is to arrive at.
#[derive(Clone, Copy)]
pub(crate) enum Aim {
    /// A chain length.
    Length(f64),
    /// A contact event.
    Event(Event),
}

/// The present point and what is needed to go on from it.
pub(crate) struct Curve<'a> {
    pub mechanism: &'a Mechanism,
    pub rests: Vec<Rest>,
    pub weight_n: f64,
    pub now: Point,
    /// Where the last step led to.
    pub trial: Point,
    /// The nearest point known to lie past an event.
    pub far: Point,
    /// The point before, where it lies on the same piece of the curve.
    pub before: Point,
    pub has_before: bool,
    stiffness: Stiffness,
    change_rad: Vec<f64>,
}

impl<'a> Curve<'a> {
    /// Starts at a balance with no force in the chain.
    pub fn new(mechanism: &'a Mechanism, state: State) -> Self {
        let now = Point {
            angle_rate: vec![0.0; state.angle_rad.len()],
            force_rate: 0.0,
            force_n: 0.0,
            state,
        };
        Self {
            mechanism,
            rests: rests_at(mechanism, &now.state.angle_rad),
            weight_n: mechanism.load_n(),
            trial: now.clone(),
            far: now.clone(),
            before: now.clone(),
            has_before: false,
            stiffness: Stiffness::default(),
            change_rad: now.angle_rate.clone(),
            now,
        }
    }

    /// Begins the piece of the curve on which the joints rest as they do now.
    pub fn begin_piece(&mut self) -> Result<(), Hindrance> {
        self.has_before = false;
        let Self {
            now,
            rests,
            stiffness,
            ..
        } = self;
        now.angle_rate.fill(0.0);
        now.force_rate = 0.0;
        stiffness.factor(&now.state, rests, now.force_n)?;
        now.force_rate = stiffness.follow(&mut now.angle_rate);
        Ok(())
    }

    /// Sets the trial where the curve seems to go.
    pub fn foretell(&mut self, length_m: f64) {
        let Self {
            before, now, trial, ..
        } = self;
        let way = length_m - now.state.chain_m;
        let ratio = way / (now.state.chain_m - before.state.chain_m);
        if self.has_before && ratio > 0.0 && ratio < CARRY_ON {
            cubic(before, now, 1.0 + ratio, trial);
            return;
        }
        let angles = now.state.angle_rad.iter().zip(&now.angle_rate);
        for (angle, (&from, rate)) in trial.state.angle_rad.iter_mut().zip(angles) {
            *angle = from + way * rate;
        }
        trial.force_n = now.force_n + way * now.force_rate;
    }

    /// By how much `event` has happened at `point`; positive is past it.
    pub fn excess(&self, point: &Point, event: Event) -> f64 {
        let joint = event.joint;
        let travel = &self.mechanism.travels[joint];
        let angle = point.state.angle_rad[joint];
        match event.becomes {
            Rest::High => angle - travel.stop_rad,
            Rest::Low => travel.open_rad - angle,
            Rest::Free => {
                let slope = point.state.slope_nm(joint, point.force_n);
                self.rests[joint].urge(slope) / self.weight_n - NO_MOMENT_M
            }
        }
    }

    /// First-order change of the excess when angles and force change.
    pub fn excess_change(
        &self,
        point: &Point,
        event: Event,
        change_rad: &[f64],
        change_n: f64,
    ) -> f64 {
        let joint = event.joint;
        match event.becomes {
            Rest::High => change_rad[joint],
            Rest::Low => -change_rad[joint],
            Rest::Free => {
                let bent: f64 = (0..self.rests.len())
                    .filter(|&other| self.rests[other] == Rest::Free)
                    .map(|other| {
                        point.state.curvature_nm(joint, other, point.force_n) * change_rad[other]
                    })
                    .sum();
                let slope = bent + point.state.lever_m[joint] * change_n;
                self.rests[joint].urge(slope) / self.weight_n
            }
        }
    }

    /// Derivative of the excess by the chain length.
    pub fn excess_rate(&self, point: &Point, event: Event) -> f64 {
        self.excess_change(point, event, &point.angle_rate, point.force_rate)
    }

    /// Sets the trial at a share of the way to the far point.
    pub fn interpolate(&mut self, share: f64) {
        cubic(&self.now, &self.far, share, &mut self.trial);
    }

    /// Corrects the trial to a balance.
    pub fn correct(&mut self, aim: Aim) -> Result<(), Hindrance> {
        // Farther than a few first steps is another branch of the curve.
        let reach_rad = (3.0 * self.moved_rad() + 1e-6).min(REACH_RAD);
        self.trial.state.update(self.mechanism);
        for _ in 0..MOST_ROUNDS {
            let size_rad = self.newton(aim)?;
            if self.moved_rad() > reach_rad {
                return Err(Hindrance);
            }
            self.trial.state.update(self.mechanism);
            if !self.trial.state.chain_m.is_finite() {
                return Err(Hindrance);
            }
            if size_rad < EXACT_RAD || self.is_balanced(aim) {
                return Ok(());
            }
        }
        Err(Hindrance)
    }

    /// One Newton step of the trial's angles and force, and the derivatives there; gives its size.
    fn newton(&mut self, aim: Aim) -> Result<f64, Hindrance> {
        let Self {
            trial,
            rests,
            stiffness,
            change_rad,
            ..
        } = self;
        stiffness.factor(&trial.state, rests, trial.force_n)?;
        trial.angle_rate.fill(0.0);
        trial.force_rate = stiffness.follow(&mut trial.angle_rate);
        change_rad.fill(0.0);
        let slope_nm = |joint| trial.state.slope_nm(joint, trial.force_n);
        let change_n = stiffness.relax(slope_nm, change_rad);
        let way = match aim {
            Aim::Length(length_m) => length_m - self.trial.state.chain_m,
            Aim::Event(event) => {
                let left = self.excess(&self.trial, event)
                    + self.excess_change(&self.trial, event, &self.change_rad, change_n);
                -left / self.excess_rate(&self.trial, event)
            }
        };
        let Self {
            trial, change_rad, ..
        } = self;
        trial.force_n += change_n + way * trial.force_rate;
        let mut size = 0.0_f64;
        let changes = change_rad.iter().zip(&trial.angle_rate);
        for (angle, (change, rate)) in trial.state.angle_rad.iter_mut().zip(changes) {
            let change = change + way * rate;
            *angle += change;
            size = size.max(change.abs());
        }
        if let Aim::Event(event) = aim
            && let Some(bound_rad) = event.bound_rad(self.mechanism)
        {
            trial.state.angle_rad[event.joint] = bound_rad;
        }
        Ok(size)
    }

    fn moved_rad(&self) -> f64 {
        let pairs = self
            .trial
            .state
            .angle_rad
            .iter()
            .zip(&self.now.state.angle_rad);
        pairs.fold(0.0, |most, (to, from)| most.max((to - from).abs()))
    }

    fn is_balanced(&self, aim: Aim) -> bool {
        let trial = &self.trial;
        let misses = match aim {
            Aim::Length(length_m) => length_m - trial.state.chain_m,
            Aim::Event(event) => self.excess(trial, event),
        };
        let least = BALANCED * self.weight_n;
        misses.abs() < BALANCED
            && (0..self.rests.len()).all(|joint| {
                self.rests[joint] != Rest::Free
                    || trial.state.slope_nm(joint, trial.force_n).abs() < least
            })
    }
}

/// The point at `share` of the way from `a` to `b` on the cubic with their angles, forces and rates.
fn cubic(a: &Point, b: &Point, share: f64, to: &mut Point) {
    let length = b.state.chain_m - a.state.chain_m;
    let rest = share - 1.0;
    let to_b = share * share * (3.0 - 2.0 * share);
    let from_a = share * rest * rest * length;
    let from_b = share * share * rest * length;
    let rates = a.angle_rate.iter().zip(&b.angle_rate);
    let angles = a.state.angle_rad.iter().zip(&b.state.angle_rad);
    for (angle, ((at_a, at_b), (rate_a, rate_b))) in
        to.state.angle_rad.iter_mut().zip(angles.zip(rates))
    {
        *angle = at_a + to_b * (at_b - at_a) + from_a * rate_a + from_b * rate_b;
    }
    to.force_n =
        a.force_n + to_b * (b.force_n - a.force_n) + from_a * a.force_rate + from_b * b.force_rate;
}
