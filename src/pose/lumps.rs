//! What masses hang on the bodies besides their own?
//!
//! Pieces where they are stated, cables m′ h on each cabinet they run along. Of the closing chain,
//! m′ and the bypass are spread along the line it takes when all joints are on their stops: each
//! straight part gives half its mass to each of its ends, as a straight bar does. What the whole
//! chain has over that line hangs with the lever hoist at its end.

use super::mechanism::Mechanism;
use super::plane::Vec2;
use super::state::State;
use crate::model::{Carrier, ClosingGear, Hang, HoistEnd};

/// A mass on a body, in the body's axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Lump {
    pub body: usize,
    pub at_m: Vec2,
    pub mass_kg: f64,
    /// Whether it is the chain's or its hoist's, and so moves with the chain.
    pub of_chain: bool,
}

/// The masses on the bodies of `bare`, which has none of them yet, with its chain ends set.
pub(crate) fn lumps(hang: &Hang, bare: &Mechanism, has_chain: bool) -> Vec<Lump> {
    let mut found = Vec::new();
    let count = hang.cabinets.len();
    let mut add = |body: usize, at_m: Vec2, mass_kg: f64, of_chain: bool| {
        if mass_kg > 0.0 {
            found.push(Lump {
                body,
                at_m,
                mass_kg,
                of_chain,
            });
        }
    };
    let on_cabinet = |index: usize, x_m: f64, z_m: f64| {
        let cabinet = &hang.cabinets[index];
        Vec2::new(x_m - cabinet.hinge_x_m, z_m - cabinet.height_m / 2.0)
    };
    for piece in &hang.pieces {
        let [x_m, z_m] = piece.at_m;
        match (piece.on, piece.cabinet) {
            (Carrier::Frame, _) => add(0, piece.at_m.into(), piece.mass_kg, false),
            (Carrier::Cabinet, Some(index)) if index < count => {
                add(index + 1, on_cabinet(index, x_m, z_m), piece.mass_kg, false);
            }
            (Carrier::Bottom, _) if hang.bottom.is_some() => {
                add(count + 1, piece.at_m.into(), piece.mass_kg, false);
            }
            // A hang cut short leaves what the rest carries behind.
            _ => (),
        }
    }
    for run in &hang.runs {
        let last = run.last.map_or(count, |last| (last + 1).min(count));
        for index in run.first..last {
            let mass_kg = run.mass_kg_m * hang.cabinets[index].height_m;
            add(index + 1, on_cabinet(index, run.x_m, 0.0), mass_kg, false);
        }
    }
    if let Some(gear) = hang
        .gear
        .as_ref()
        .filter(|gear| has_chain && gear.has_mass())
    {
        add_chain(gear, bare, &mut add);
    }
    found
}

fn add_chain(gear: &ClosingGear, bare: &Mechanism, add: &mut impl FnMut(usize, Vec2, f64, bool)) {
    let closed = State::closed(bare);
    let whole_m = gear.pitch_m * f64::from(gear.links);
    let line_m = closed.chain_m.max(f64::MIN_POSITIVE);
    let line_kg = gear.chain_mass_kg_m * whole_m.min(line_m) + gear.bypass_mass_kg;
    let over_kg = gear.chain_mass_kg_m * (whole_m - line_m).max(0.0) + gear.hoist_mass_kg;
    for ends in closed.string.windows(2) {
        let share = (ends[1].point_m - ends[0].point_m).norm() / line_m;
        for end in ends {
            let at_m = closed.own(end.body, end.point_m);
            add(end.body, at_m, line_kg * share / 2.0, true);
        }
    }
    let (body, at_m) = match gear.hoist_end {
        HoistEnd::Upper => (bare.hooks, bare.upper_anchor_m),
        HoistEnd::Lower => (bare.bodies.len() - 1, bare.lower_anchor_m),
    };
    add(body, at_m, over_kg, true);
}
