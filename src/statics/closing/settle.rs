//! Where the hang comes to rest: least gravity energy at a held chain force or chain length.
//!
//! Held force: min U + T L; held length: min U on L = ℓ; both within the joints' bounds. Descent by
//! Newton steps, shifted to positive curvature where needed, each cut at the first bound met; a
//! bound is let go when its contact force has the wrong sign (active-set method; Nocedal & Wright,
//! Numerical Optimization, 2nd ed., 16.5 and 18.1).

use super::descent::{NoStep, Reducer, Rest, Step, urge_nm};
use super::mechanism::{Body, Mechanism};
use super::state::State;
use crate::statics::balance::GRAVITY_M_S2;

/// What the closing gear keeps constant while the hang moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Hold {
    /// Chain force, newtons.
    Force(f64),
    /// Chain length, metres.
    Length(f64),
}

/// Joint angles change by no more than this once settled.
const SETTLED_RAD: f64 = 1e-12;
/// Greatest turn of a joint in one step of a descent.
const STRIDE_RAD: f64 = 0.02;
const MOST_STEPS: usize = 4000;

/// How a descent ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RestEnd {
    /// Every free joint is balanced and every bound is pressed, to [`AT_REST`].
    AtRest,
    /// Something still moves, but no step lowers the energy.
    NoDescent,
    /// The steps allowed are spent.
    BudgetSpent,
}

impl RestEnd {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::AtRest => "at rest",
            Self::NoDescent => "no step lowers the energy",
            Self::BudgetSpent => "budget spent",
        }
    }
}

/// Unbalanced moments below this share of all loads at a metre are rest.
pub(crate) const AT_REST: f64 = 1e-9;

/// Where a descent came to.
#[derive(Clone, Debug)]
pub(crate) struct Rested {
    pub state: State,
    pub end: RestEnd,
    /// As [`Settling::residual`].
    pub residual: f64,
}

/// A state that changes while it settles.
pub(crate) struct Settling<'a> {
    pub mechanism: &'a Mechanism,
    pub state: State,
    pub rests: Vec<Rest>,
    pub force_n: f64,
    /// Bounds met on the way, in order.
    pub met: Vec<(usize, Rest)>,
    reducer: Reducer,
    scale_nm: f64,
}

impl<'a> Settling<'a> {
    /// Starts at `state`.
    pub fn new(mechanism: &'a Mechanism, state: State, rests: Vec<Rest>, force_n: f64) -> Self {
        let loads = mechanism.bodies.iter();
        let load_n = |body: &Body| GRAVITY_M_S2 * body.mass_kg + body.push_n.norm();
        Self {
            mechanism,
            state,
            rests,
            force_n,
            met: Vec::new(),
            reducer: Reducer::default(),
            scale_nm: loads.map(load_n).sum(),
        }
    }

    /// The greatest moment that is not balanced: of a free joint, or off a bound. Over all loads at
    /// a metre.
    pub fn residual(&self) -> f64 {
        let joints = 0..self.rests.len();
        let moving = joints.filter(|&joint| self.mechanism.travels[joint].moves());
        moving
            .map(|joint| {
                let slope_nm = self.state.slope_nm(joint, self.force_n);
                match self.rests[joint] {
                    Rest::Free => slope_nm.abs(),
                    rest => urge_nm(rest, slope_nm),
                }
            })
            .fold(0.0, f64::max)
            / self.scale_nm.max(f64::MIN_POSITIVE)
    }

    /// Moves to rest, and says whether it came there.
    pub fn settle(&mut self, hold: Hold) -> RestEnd {
        match self.descend(hold) {
            RestEnd::AtRest if self.residual() > AT_REST => RestEnd::NoDescent,
            end => end,
        }
    }

    fn descend(&mut self, hold: Hold) -> RestEnd {
        for _ in 0..MOST_STEPS {
            let (step, falling) = match self.step(hold) {
                Some(found) => found,
                None => {
                    if self.let_go_without_lever() {
                        continue;
                    }
                    return RestEnd::AtRest;
                }
            };
            self.force_n = step.force_n;
            let size = largest(&step.change_rad);
            if size > SETTLED_RAD {
                if !self.advance(hold, &step.change_rad) {
                    return if size < 1e-7 {
                        RestEnd::AtRest
                    } else {
                        RestEnd::NoDescent
                    };
                }
                continue;
            }
            if self.let_go_of_worst() {
                continue;
            }
            match falling {
                None => return RestEnd::AtRest,
                Some(direction) => {
                    if !self.tip_over(hold, &direction) {
                        return RestEnd::NoDescent;
                    }
                }
            }
        }
        RestEnd::BudgetSpent
    }

    /// A descent step, and a direction of no positive curvature if there is one. `None` when no
    /// joint can move. Joints that do not change a held chain length move at the present force.
    fn step(&mut self, hold: Hold) -> Option<(Step, Option<Vec<f64>>)> {
        let mut falling = None;
        let mut shift = 0.0;
        loop {
            let tried = match hold {
                Hold::Force(force) => {
                    self.reducer
                        .step_at_force(&self.state, &self.rests, force, shift)
                }
                Hold::Length(length) => self.reducer.step_with_shift(
                    &self.state,
                    &self.rests,
                    self.force_n,
                    length,
                    shift,
                ),
            };
            match tried {
                Ok(step) => return Some((step, falling)),
                Err(NoStep::NoLever) => {
                    let kept = self.force_n;
                    let step = self
                        .reducer
                        .step_at_force(&self.state, &self.rests, kept, shift);
                    let moves = |step: &Step| largest(&step.change_rad) > SETTLED_RAD;
                    return step.ok().filter(moves).map(|step| (step, falling));
                }
                Err(NoStep::Unstable(direction)) => {
                    falling.get_or_insert(direction);
                    shift = (shift * 8.0).max(1e-4 * self.scale_nm);
                    if !shift.is_finite() {
                        return None;
                    }
                }
            }
        }
    }

    /// Lets the joint go that is pushed hardest off its bound.
    fn let_go_of_worst(&mut self) -> bool {
        let worst = (0..self.rests.len())
            .filter(|&joint| self.mechanism.travels[joint].moves())
            .map(|joint| {
                let slope = self.state.slope_nm(joint, self.force_n);
                (joint, urge_nm(self.rests[joint], slope))
            })
            .max_by(|a, b| a.1.total_cmp(&b.1));
        match worst {
            Some((joint, urge)) if urge > 1e-11 * self.scale_nm => {
                self.rests[joint] = Rest::Free;
                true
            }
            _ => false,
        }
    }

    /// With every joint at a bound and the length held, the chain force is any value that keeps
    /// them there. If there is none, lets go of the two joints that ask for most and for least.
    fn let_go_without_lever(&mut self) -> bool {
        let mut least = (0.0, None);
        let mut most = (f64::INFINITY, None);
        for joint in 0..self.rests.len() {
            let lever = self.state.lever_m[joint];
            if !self.mechanism.travels[joint].moves() || lever == 0.0 {
                continue;
            }
            let limit = -self.state.load_nm[joint] / lever;
            let rises = urge_nm(self.rests[joint], lever) > 0.0;
            if rises && limit < most.0 {
                most = (limit, Some(joint));
            } else if !rises && limit > least.0 {
                least = (limit, Some(joint));
            }
        }
        if least.0 <= most.0 + 1e-9 {
            self.force_n = self.force_n.clamp(least.0.min(most.0), most.0);
            return false;
        }
        for joint in [least.1, most.1].into_iter().flatten() {
            self.rests[joint] = Rest::Free;
        }
        true
    }

    fn height_of(&self, hold: Hold) -> f64 {
        match hold {
            Hold::Force(force) => self.state.energy_j + force * self.state.chain_m,
            Hold::Length(_) => self.state.energy_j,
        }
    }

    /// Goes along `change_rad` as far as the energy falls and no bound is crossed.
    fn advance(&mut self, hold: Hold, change_rad: &[f64]) -> bool {
        let start = self.state.angle_rad.clone();
        let before = self.height_of(hold);
        let feasible = self.misfit(hold) < 1e-9;
        let size = largest(change_rad);
        let mut share = (STRIDE_RAD / size).min(1.0);
        let mut meets = None;
        for joint in 0..start.len() {
            if self.rests[joint] != Rest::Free || change_rad[joint] == 0.0 {
                continue;
            }
            let travel = &self.mechanism.travels[joint];
            let (bound, rest) = if change_rad[joint] > 0.0 {
                (travel.stop_rad, Rest::Stop)
            } else {
                (travel.open_rad, Rest::Open)
            };
            let room = ((bound - start[joint]) / change_rad[joint]).max(0.0);
            if room <= share {
                share = room;
                meets = Some((joint, bound, rest));
            }
        }
        for _ in 0..40 {
            for (angle, (&from, &by)) in self
                .state
                .angle_rad
                .iter_mut()
                .zip(start.iter().zip(change_rad))
            {
                *angle = from + share * by;
            }
            let kept = self.rests.clone();
            if let Some((joint, bound, rest)) = meets {
                self.state.angle_rad[joint] = bound;
                self.rests[joint] = rest;
            }
            self.state.update(self.mechanism);
            self.retract(hold);
            let rounding = 1e-13 * self.scale_nm;
            let fell = self.height_of(hold) <= before + rounding;
            let close = size < 1e-6 || !feasible;
            if (fell || close) && self.misfit(hold) < 1e-7 {
                if let Some((joint, _, rest)) = meets {
                    self.met.push((joint, rest));
                }
                return true;
            }
            self.rests = kept;
            meets = None;
            share /= 2.0;
        }
        self.state.angle_rad = start;
        self.state.update(self.mechanism);
        false
    }

    /// By how much the chain length misses the held one.
    pub fn misfit(&self, hold: Hold) -> f64 {
        match hold {
            Hold::Force(_) => 0.0,
            Hold::Length(length) => (self.state.chain_m - length).abs(),
        }
    }

    /// Back to the held length along the steepest way, within the bounds.
    fn retract(&mut self, hold: Hold) {
        let Hold::Length(length) = hold else { return };
        for _ in 0..12 {
            let gap = length - self.state.chain_m;
            let steepness: f64 = (0..self.rests.len())
                .filter(|&joint| self.rests[joint] == Rest::Free)
                .map(|joint| self.state.lever_m[joint].powi(2))
                .sum();
            if gap.abs() < 1e-14 || steepness == 0.0 {
                return;
            }
            for joint in 0..self.rests.len() {
                if self.rests[joint] == Rest::Free {
                    let travel = &self.mechanism.travels[joint];
                    let moved =
                        self.state.angle_rad[joint] + gap * self.state.lever_m[joint] / steepness;
                    self.state.angle_rad[joint] = moved.clamp(travel.open_rad, travel.stop_rad);
                }
            }
            self.state.update(self.mechanism);
        }
    }

    /// Leaves a balance that does not last, to the side on which the energy falls.
    pub fn tip_over(&mut self, hold: Hold, direction: &[f64]) -> bool {
        if largest(direction) == 0.0 {
            return false;
        }
        let start = self.state.angle_rad.clone();
        let before = self.height_of(hold);
        let mut best: Option<(f64, Vec<f64>)> = None;
        let nudge = 1.0 / largest(direction);
        for side in [1e-4, -1e-4, 1e-3, -1e-3, 1e-2, -1e-2].map(|size| size * nudge) {
            for joint in 0..start.len() {
                let travel = &self.mechanism.travels[joint];
                self.state.angle_rad[joint] = if self.rests[joint] == Rest::Free {
                    (start[joint] + side * direction[joint]).clamp(travel.open_rad, travel.stop_rad)
                } else {
                    start[joint]
                };
            }
            self.state.update(self.mechanism);
            self.retract(hold);
            let height = self.height_of(hold);
            let lower = best.as_ref().is_none_or(|(least, _)| height < *least);
            if self.misfit(hold) < 1e-9 && height < before && lower {
                best = Some((height, self.state.angle_rad.clone()));
            }
        }
        let found = best.is_some();
        self.state.angle_rad = best.map_or(start, |(_, angles)| angles);
        self.state.update(self.mechanism);
        found
    }
}

/// Greatest magnitude.
pub(crate) fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |most, value| value.abs().max(most))
}
