//! What is the closing force worth when masses, places and angles are only known to within a spread?
//!
//! Monte Carlo: every case draws each mass m (1 + σ_m z), each centre of gravity and chain anchor
//! shifted by σ z in x and z, each splay and the tilt turned by σ z, with z standard normal, and
//! solves the closed pose exactly. Case c draws from stream c of a ChaCha8 generator, so the cases
//! are the same bits for any number of threads.

use super::closed::ClosedState;
use super::support::{FrameHold, Support};
use crate::error::{Result, non_negative, within_range};
use crate::model::{Hang, Valid};
use crate::pose::Vec2;
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// Cases between two questions whether to go on.
const BLOCK: usize = 16_384;
/// Most cases of one run.
const MOST_CASES: usize = 20_000_000;

/// Standard deviations of what a hang is known by.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spread {
    /// Of a mass, over its mean.
    pub mass: f64,
    /// Of each coordinate of a centre of gravity.
    pub cg_m: f64,
    /// Of each coordinate of a chain anchor.
    pub anchor_m: f64,
    /// Of a splay.
    pub splay_deg: f64,
    /// Of the frame's tilt.
    pub tilt_deg: f64,
}

/// Every case of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct SpreadCases {
    /// Closing force; `None` where no chain force holds the hang closed.
    pub closing_force_n: Vec<Option<f64>>,
    /// Loads of the two hoists of the closed hang, front first.
    pub hoist_load_n: Vec<[f64; 2]>,
}

/// Runs `cases` cases of `hang` at a held tilt. `go_on` is told how many are done and stops the run
/// by returning false: then the answer is `None`.
///
/// # Errors
/// A spread below zero, no cases or too many, picks that do not fit, or as [`crate::statics::closing::close`].
pub fn spread(
    hang: &Valid<Hang>,
    tilt_deg: f64,
    pick_x_m: Option<&[f64]>,
    spread: &Spread,
    cases: usize,
    seed: u64,
    mut go_on: impl FnMut(usize) -> bool,
) -> Result<Option<SpreadCases>> {
    within_range("tilt_deg", tilt_deg, -90.0, 90.0)?;
    within_range("cases", cases as f64, 1.0, MOST_CASES as f64)?;
    non_negative("mass_spread", spread.mass)?;
    non_negative("cg_spread_m", spread.cg_m)?;
    non_negative("anchor_spread_m", spread.anchor_m)?;
    non_negative("splay_spread_deg", spread.splay_deg)?;
    non_negative("tilt_spread_deg", spread.tilt_deg)?;
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = Mechanism::new(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked)?;
    let support = Support::new(hang, FrameHold::TwoHoists, tilt_rad, pick_x_m)?;
    let base = ChaCha8Rng::seed_from_u64(seed);
    let mut found = SpreadCases {
        closing_force_n: Vec::with_capacity(cases),
        hoist_load_n: Vec::with_capacity(cases),
    };
    while found.hoist_load_n.len() < cases {
        let done = found.hoist_load_n.len();
        let block: Vec<_> = (done..cases.min(done + BLOCK))
            .into_par_iter()
            .map(|case| {
                let mut draws = base.clone();
                draws.set_stream(case as u64);
                let mut draw = |sigma: f64| {
                    let z: f64 = StandardNormal.sample(&mut draws);
                    sigma * z
                };
                let mut drawn = mechanism.clone();
                vary(&mut drawn, spread, &mut draw);
                let state = State::closed(&drawn);
                let loads = support.at_tilt(drawn.base_rad).loads_n(&drawn, &state);
                let loads = [loads[0], loads[1]];
                (ClosedState::of(&drawn, &state).force_n(), loads)
            })
            .collect();
        for (force, loads) in block {
            found.closing_force_n.push(force);
            found.hoist_load_n.push(loads);
        }
        if !go_on(found.hoist_load_n.len()) {
            return Ok(None);
        }
    }
    Ok(Some(found))
}

fn vary(mechanism: &mut Mechanism, spread: &Spread, draw: &mut impl FnMut(f64) -> f64) {
    mechanism.base_rad += draw(spread.tilt_deg).to_radians();
    for body in &mut mechanism.bodies {
        body.mass_kg = (body.mass_kg * (1.0 + draw(spread.mass))).max(0.0);
        body.cg_m += Vec2::new(draw(spread.cg_m), draw(spread.cg_m));
    }
    for anchor in [&mut mechanism.upper_anchor_m, &mut mechanism.lower_anchor_m] {
        *anchor += Vec2::new(draw(spread.anchor_m), draw(spread.anchor_m));
    }
    for travel in &mut mechanism.travels {
        if travel.moves() {
            travel.stop_rad += draw(spread.splay_deg).to_radians();
            travel.open_rad = travel.open_rad.min(travel.stop_rad);
        }
    }
}
