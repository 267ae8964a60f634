//! Where does a hang come to rest with no force in its chain, or a given one?
//!
//! The mechanism of `pose` under the minimiser of `equilibrium`: joint angles within open limit and
//! stop, weights and dead loads as the energy, the taut chain as the length.

use crate::equilibrium::minimum::{RestEnd, Settling};
use crate::equilibrium::{Hold, Landscape, System, rests_at};
use crate::pose::mechanism::Mechanism;
use crate::pose::state::State;

impl Landscape for State {
    fn position(&self) -> &[f64] {
        &self.angle_rad
    }
    fn position_mut(&mut self) -> &mut [f64] {
        &mut self.angle_rad
    }
    fn energy(&self) -> f64 {
        self.energy_j
    }
    fn slope(&self, joint: usize) -> f64 {
        self.load_nm[joint]
    }
    fn length(&self) -> f64 {
        self.chain_m
    }
    fn lever(&self, joint: usize) -> f64 {
        self.lever_m[joint]
    }
    fn curvature(&self, a: usize, b: usize, force_n: f64) -> f64 {
        self.curvature_nm(a, b, force_n)
    }
}

impl System for Mechanism {
    type Place = State;
    fn bounds(&self, joint: usize) -> [f64; 2] {
        let travel = self.travels[joint];
        [travel.open_rad, travel.stop_rad]
    }
    fn update(&self, state: &mut State) {
        state.update(self);
    }
    fn length_scale(&self) -> f64 {
        self.length_m()
    }
    fn energy_scale(&self) -> f64 {
        self.load_n() * self.length_m()
    }
}

/// Where a descent came to.
#[derive(Clone, Debug)]
pub(crate) struct Rested {
    pub state: State,
    pub end: RestEnd,
    /// The greatest moment that is not balanced, as a share of all loads at the hang's length.
    pub residual: f64,
    /// Force in the chain.
    pub force_n: f64,
}

/// The rest of the hang with no force in the chain, sought from the open limits, where most joints
/// come to rest.
pub(crate) fn free_hang(mechanism: &Mechanism) -> Rested {
    let open = mechanism.travels.iter().map(|travel| travel.open_rad);
    settled(
        mechanism,
        State::plumb(mechanism, open.collect()),
        0.0,
        Hold::Force(0.0),
    )
}

/// The rest of the hang at a chain force, reached from `start_rad` or from straight joints.
pub(crate) fn at_force(mechanism: &Mechanism, force_n: f64, start_rad: Option<&[f64]>) -> Rested {
    let start = match start_rad {
        Some(start) => State::at(mechanism, start),
        None => {
            let travels = mechanism.travels.iter();
            let straight = travels.map(|travel| 0.0_f64.clamp(travel.open_rad, travel.stop_rad));
            State::plumb(mechanism, straight.collect())
        }
    };
    settled(mechanism, start, force_n, Hold::Force(force_n))
}

/// The rest that a descent from `start` comes to.
pub(crate) fn settled(mechanism: &Mechanism, start: State, force_n: f64, hold: Hold) -> Rested {
    let rests = rests_at(mechanism, &start.angle_rad);
    let mut settling = Settling::new(mechanism, start, rests, force_n);
    let end = settling.settle(hold);
    Rested {
        end,
        residual: settling.residual(),
        force_n: settling.force,
        state: settling.place,
    }
}
