//! The least energy within bounds, found by descent.
//!
//! Newton steps, shifted to positive curvature where needed, each cut at the first bound met; a
//! bound is let go when its slope has the wrong sign (active-set method; Nocedal & Wright,
//! Numerical Optimization, 2nd ed., 16.5 and 18.1). Where a balance does not last the descent goes
//! on to the side on which the energy falls.

use super::newton::{NoStep, Step, slope, step};
use super::tolerances::{
    AT_REST, ENERGY_ROUNDING, LENGTH_MET, LENGTH_NEAR, LETS_GO, NEARLY_SETTLED, ROUNDING,
    SAME_LENGTH, SETTLED, SHIFT, STRIDE,
};
use super::{Hold, Landscape, Rest, System, largest};

const MOST_STEPS: usize = 4000;

/// How a descent ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RestEnd {
    /// Every free coordinate is balanced and every bound is pressed, to [`AT_REST`].
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

/// The greatest slope that is not balanced, of a free coordinate or off a bound, as a share of the
/// loads.
pub fn unbalanced<S: System>(system: &S, place: &S::Place, rests: &[Rest], force: f64) -> f64 {
    let mut greatest = 0.0_f64;
    for (index, &rest) in rests.iter().enumerate() {
        let [low, high] = system.bounds(index);
        if low < high {
            let slope = slope(place, index, force);
            greatest = greatest.max(match rest {
                Rest::Free => slope.abs(),
                rest => rest.urge(slope),
            });
        }
    }
    greatest / system.energy_scale().max(f64::MIN_POSITIVE)
}

/// A place that changes while it settles.
pub struct Settling<'a, S: System> {
    system: &'a S,
    /// Where it is now.
    pub place: S::Place,
    /// Bounds it rests on.
    pub rests: Vec<Rest>,
    /// T.
    pub force: f64,
    /// Bounds met on the way, in order.
    pub met: Vec<(usize, Rest)>,
    length_scale: f64,
    energy_scale: f64,
}

impl<'a, S: System> Settling<'a, S> {
    /// Starts at `place`.
    pub fn new(system: &'a S, place: S::Place, rests: Vec<Rest>, force: f64) -> Self {
        Self {
            place,
            rests,
            force,
            met: Vec::new(),
            length_scale: system.length_scale(),
            energy_scale: system.energy_scale(),
            system,
        }
    }

    /// As [`unbalanced`].
    pub fn residual(&self) -> f64 {
        unbalanced(self.system, &self.place, &self.rests, self.force)
    }

    /// By how much the length misses the held one.
    pub fn misfit(&self, hold: Hold) -> f64 {
        match hold {
            Hold::Length(length) => (self.place.length() - length).abs(),
            _ => 0.0,
        }
    }

    /// Whether the held length is met.
    pub fn fits(&self, hold: Hold) -> bool {
        self.misfit(hold) < LENGTH_MET * self.length_scale
    }

    /// Moves to rest, and says whether it came there.
    pub fn settle(&mut self, hold: Hold) -> RestEnd {
        match self.descend(hold) {
            RestEnd::AtRest if self.residual() > AT_REST => RestEnd::NoDescent,
            end => end,
        }
    }

    fn moves(&self, index: usize) -> bool {
        let [low, high] = self.system.bounds(index);
        low < high
    }

    fn descend(&mut self, hold: Hold) -> RestEnd {
        for _ in 0..MOST_STEPS {
            let Some((step, falling)) = self.step(hold) else {
                if self.let_go_without_lever() {
                    continue;
                }
                return RestEnd::AtRest;
            };
            self.force = step.force;
            let size = largest(&step.change);
            if size > SETTLED {
                if self.advance(hold, &step.change) {
                    continue;
                }
                return if size < NEARLY_SETTLED {
                    RestEnd::AtRest
                } else {
                    RestEnd::NoDescent
                };
            }
            if self.let_go(hold) {
                continue;
            }
            match falling {
                None => return RestEnd::AtRest,
                Some(direction) if self.tip_over(hold, &direction) => (),
                Some(_) => return RestEnd::NoDescent,
            }
        }
        RestEnd::BudgetSpent
    }

    /// A descent step, and a direction of no positive curvature if there is one. `None` when
    /// nothing can move. Coordinates that do not change a held length move at the present force.
    fn step(&self, hold: Hold) -> Option<(Step, Option<Vec<f64>>)> {
        let mut falling = None;
        let mut shift = 0.0;
        loop {
            match step(&self.place, &self.rests, hold, self.force, shift) {
                Ok(step) => return Some((step, falling)),
                Err(NoStep::NoLever) => {
                    let held = Hold::Force(self.force);
                    let step = step(&self.place, &self.rests, held, self.force, shift);
                    let moves = |step: &Step| largest(&step.change) > SETTLED;
                    return step.ok().filter(moves).map(|step| (step, falling));
                }
                Err(NoStep::Unstable(direction)) => {
                    falling.get_or_insert(direction);
                    shift = (shift * 8.0).max(SHIFT * self.energy_scale);
                    if !shift.is_finite() {
                        return None;
                    }
                }
            }
        }
    }

    /// Lets go of what is pushed off its bound; at a held length, where which one goes first can
    /// decide where the system comes to rest, of the hardest pushed alone.
    fn let_go(&mut self, hold: Hold) -> bool {
        let urges: Vec<f64> = (0..self.rests.len())
            .map(|index| {
                let slope = slope(&self.place, index, self.force);
                let moves = self.moves(index);
                if moves {
                    self.rests[index].urge(slope)
                } else {
                    0.0
                }
            })
            .collect();
        let hardest = urges.iter().copied().fold(0.0, f64::max);
        let least = LETS_GO * self.energy_scale;
        let goes = |urge: f64| match hold {
            Hold::Length(_) => urge == hardest,
            _ => urge > least,
        };
        for (rest, urge) in self.rests.iter_mut().zip(urges) {
            if hardest > least && goes(urge) {
                *rest = Rest::Free;
            }
        }
        hardest > least
    }

    /// With every coordinate at a bound and the length held, the force is any value that keeps
    /// them there. If there is none, lets go of the two that ask for most and for least.
    fn let_go_without_lever(&mut self) -> bool {
        let mut least = (0.0, None);
        let mut most = (f64::INFINITY, None);
        for index in 0..self.rests.len() {
            let lever = self.place.lever(index);
            if !self.moves(index) || lever == 0.0 {
                continue;
            }
            let limit = -self.place.slope(index) / lever;
            let rises = self.rests[index].urge(lever) > 0.0;
            if rises && limit < most.0 {
                most = (limit, Some(index));
            } else if !rises && limit > least.0 {
                least = (limit, Some(index));
            }
        }
        let rounding = ROUNDING * self.energy_scale / self.length_scale;
        if least.0 <= most.0 + rounding {
            self.force = self.force.clamp(least.0.min(most.0), most.0);
            return false;
        }
        for index in [least.1, most.1].into_iter().flatten() {
            self.rests[index] = Rest::Free;
        }
        true
    }

    /// V.
    fn energy(&self, hold: Hold) -> f64 {
        let energy = self.place.energy();
        match hold {
            Hold::Force(force) => energy + force * self.place.length(),
            Hold::Length(_) => energy,
            Hold::Spring { rate, slack } => {
                energy + 0.5 * rate * (self.place.length() - slack).max(0.0).powi(2)
            }
        }
    }

    fn move_by(&mut self, start: &[f64], change: impl Fn(usize) -> f64) {
        for (index, value) in self.place.position_mut().iter_mut().enumerate() {
            *value = start[index] + change(index);
        }
    }

    /// Goes along `change` as far as the energy falls and no bound is crossed.
    fn advance(&mut self, hold: Hold, change: &[f64]) -> bool {
        let start = self.place.position().to_vec();
        let before = self.energy(hold);
        let close = largest(change) < 1e-6 || !self.fits(hold);
        let mut share = (STRIDE / largest(change)).min(1.0);
        let mut meets = None;
        for index in 0..start.len() {
            if self.rests[index] != Rest::Free || change[index] == 0.0 {
                continue;
            }
            let [low, high] = self.system.bounds(index);
            let (bound, rest) = if change[index] > 0.0 {
                (high, Rest::High)
            } else {
                (low, Rest::Low)
            };
            let room = ((bound - start[index]) / change[index]).max(0.0);
            if room <= share {
                share = room;
                meets = Some((index, bound, rest));
            }
        }
        for _ in 0..40 {
            self.move_by(&start, |index| share * change[index]);
            let kept = self.rests.clone();
            if let Some((index, bound, rest)) = meets {
                self.place.position_mut()[index] = bound;
                self.rests[index] = rest;
            }
            self.system.update(&mut self.place);
            self.retract(hold);
            let fell = self.energy(hold) <= before + ENERGY_ROUNDING * self.energy_scale;
            if (fell || close) && self.misfit(hold) < LENGTH_NEAR * self.length_scale {
                self.met.extend(meets.map(|(index, _, rest)| (index, rest)));
                return true;
            }
            self.rests = kept;
            meets = None;
            share /= 2.0;
        }
        self.move_by(&start, |_| 0.0);
        self.system.update(&mut self.place);
        false
    }

    /// Back to the held length along the steepest way, within the bounds.
    fn retract(&mut self, hold: Hold) {
        let Hold::Length(length) = hold else { return };
        for _ in 0..12 {
            let gap = length - self.place.length();
            let free: Vec<usize> = (0..self.rests.len())
                .filter(|&index| self.rests[index] == Rest::Free)
                .collect();
            let steepness: f64 = free.iter().map(|&i| self.place.lever(i).powi(2)).sum();
            if gap.abs() < SAME_LENGTH / 10.0 || steepness == 0.0 {
                return;
            }
            for index in free {
                let [low, high] = self.system.bounds(index);
                let change = gap * self.place.lever(index) / steepness;
                let value = &mut self.place.position_mut()[index];
                *value = (*value + change).clamp(low, high);
            }
            self.system.update(&mut self.place);
        }
    }

    /// Leaves a balance that does not last, to the side on which the energy falls.
    pub fn tip_over(&mut self, hold: Hold, direction: &[f64]) -> bool {
        if largest(direction) == 0.0 {
            return false;
        }
        let start = self.place.position().to_vec();
        let before = self.energy(hold);
        let mut best: Option<(f64, Vec<f64>)> = None;
        let nudge = 1.0 / largest(direction);
        for side in [1e-4, -1e-4, 1e-3, -1e-3, 1e-2, -1e-2].map(|size| size * nudge) {
            for index in 0..start.len() {
                let [low, high] = self.system.bounds(index);
                self.place.position_mut()[index] = if self.rests[index] == Rest::Free {
                    (start[index] + side * direction[index]).clamp(low, high)
                } else {
                    start[index]
                };
            }
            self.system.update(&mut self.place);
            self.retract(hold);
            let energy = self.energy(hold);
            let lower = best.as_ref().is_none_or(|(least, _)| energy < *least);
            if self.fits(hold) && energy < before && lower {
                best = Some((energy, self.place.position().to_vec()));
            }
        }
        let found = best.is_some();
        let position = best.map_or(start, |(_, position)| position);
        self.place.position_mut().copy_from_slice(&position);
        self.system.update(&mut self.place);
        found
    }
}
