//! What is the closing force worth when masses, places and angles are only known to within a spread?
//!
//! Monte Carlo: every case draws each mass m (1 + σ_m z), each centre of gravity and chain anchor
//! shifted by σ z in x and z, each splay and the tilt turned by σ z, with z standard normal, and
//! solves the closed pose exactly.

use super::closed::ClosedState;
use super::support::{FrameHold, Support, picks_stand_apart};
use crate::error::{Result, within_range};
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::state::State;
use crate::pose::{Hanging, Vec2};
use crate::statics::sampling::{Draws, check_cases, sample};

/// Greatest standard deviation of a place.
const MOST_SPREAD_M: f64 = 10.0;
/// Greatest standard deviation of a splay.
const MOST_SPREAD_DEG: f64 = 90.0;
/// Greatest standard deviation of the tilt.
const MOST_TILT_SPREAD_DEG: f64 = 10.0;

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

/// Runs `cases` cases of a hang at a held tilt. `go_on` is told how many are done and stops the run
/// by returning false: then the answer is `None`.
///
/// # Errors
/// A spread out of range, no cases or too many, picks that do not fit or may stand over one another,
/// or as [`crate::statics::closing::close`].
pub fn spread(
    hanging: &Hanging<'_>,
    spread: &Spread,
    cases: usize,
    seed: u64,
    go_on: impl FnMut(usize) -> bool,
) -> Result<Option<SpreadCases>> {
    let Hanging { hang, tilt_deg, .. } = *hanging;
    within_range("tilt_deg", tilt_deg, -90.0, 90.0)?;
    check_cases(cases)?;
    within_range("mass_spread", spread.mass, 0.0, 1.0)?;
    within_range("cg_spread_m", spread.cg_m, 0.0, MOST_SPREAD_M)?;
    within_range("anchor_spread_m", spread.anchor_m, 0.0, MOST_SPREAD_M)?;
    within_range("splay_spread_deg", spread.splay_deg, 0.0, MOST_SPREAD_DEG)?;
    within_range(
        "tilt_spread_deg",
        spread.tilt_deg,
        0.0,
        MOST_TILT_SPREAD_DEG,
    )?;
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = Mechanism::new(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked)?;
    let support = Support::new(hang, FrameHold::TwoHoists, tilt_rad, hanging.pick_x_m)?;
    picks_stand_apart(tilt_deg, spread.tilt_deg)?;
    let found = sample([cases, 3], seed, go_on, |(): &mut (), draws, row| {
        let mut drawn = mechanism.clone();
        vary(&mut drawn, spread, draws);
        let state = State::closed(&drawn);
        let loads = support.at_tilt(drawn.base_rad).loads_n(&drawn, &state);
        let force_n = ClosedState::of(&drawn, &state).force_n();
        row.copy_from_slice(&[force_n.unwrap_or(f64::NAN), loads[0], loads[1]]);
        force_n.is_some()
    });
    Ok(found.map(|found| SpreadCases {
        closing_force_n: found
            .rows
            .chunks_exact(3)
            .zip(&found.answered)
            .map(|(row, closes)| closes.then_some(row[0]))
            .collect(),
        hoist_load_n: found
            .rows
            .chunks_exact(3)
            .map(|row| [row[1], row[2]])
            .collect(),
    }))
}

fn vary(mechanism: &mut Mechanism, spread: &Spread, draws: &mut Draws) {
    let mut draw = |sigma: f64| sigma * draws.normal();
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
