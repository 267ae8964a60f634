//! Where does a hang come to rest in a steady wind, and what do its hoists and joints carry?
//!
//! The wind of `super::blown` on a hang whose joints are pinned, or move within their bounds where
//! a compression hang is open. It comes to rest at least energy. Wind from the side leans the hang,
//! at rest in still air, about the line of its picks; its pan is taken as held, and the moment that
//! takes is told.

pub use super::blown::{From, Shadow, WindInput};
use super::blown::{Hung, Push, blown, check, forces, in_cabinet, picks_m, pushes};
use crate::equilibrium::minimum::RestEnd;
use crate::error::{InputError, Result, each, finite, positive};
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::{Hanging, Pose, Vec2};
use crate::statics::rest::free_hang;

/// A hang at rest in the wind.
#[derive(Clone, Debug, PartialEq)]
pub struct WindLoads {
    /// How the rest was found.
    pub end: RestEnd,
    /// The greatest moment that is not balanced, over all loads at the hang's length.
    pub residual: f64,
    /// Pressure at each cabinet.
    pub pressure_pa: Vec<f64>,
    /// Force on each cabinet, at least 0.
    pub force_n: Vec<f64>,
    /// Force on everything, in the direction of the wind.
    pub total_n: f64,
    /// Lean of the lines from plumb.
    pub line_rad: f64,
    /// Tilt of the frame; for wind from the side, its tilt at rest in still air.
    pub tilt_rad: f64,
    /// Lean of the hang across its plane, for wind from the side.
    pub lean_rad: f64,
    /// Moment about the plumb axis by which wind from the side, towards +y, pans the hang.
    pub pan_moment_nm: f64,
    /// Pull of each hoist along its line.
    pub hoist_n: Vec<f64>,
    /// Hoists that carry nothing.
    pub slack: Vec<bool>,
    /// Splay of each joint between cabinets.
    pub splay_rad: Vec<f64>,
    /// Moment about each of these joints' front hinges of all that hangs below; positive opens the
    /// rear.
    pub joint_moment_nm: Vec<f64>,
    /// Horizontal force at `pull_at_m` that keeps the first pick's hang at its tilt.
    pub hold_tilt_n: f64,
    /// Horizontal force that keeps the lines plumb.
    pub hold_plumb_n: f64,
}

/// The hang at rest in a steady wind. `pull_at_m` is where a pull-back takes hold, in the hang's
/// plane at the stated tilt; `None` is the lower rear corner of the last cabinet.
///
/// # Errors
/// An input out of bounds, or a cabinet whose section has no coefficient in the table.
pub fn wind_loads(
    hanging: &Hanging<'_>,
    input: &WindInput,
    pull_at_m: Option<[f64; 2]>,
) -> Result<WindLoads> {
    let hang = hanging.hang;
    let placed = check(hanging, input)?;
    if let Some(point) = pull_at_m {
        each("pull_at_m", &point, finite)?;
    }
    let (pressure_pa, force_n) = forces(hang, input, &placed)?;
    let direction = input.from.direction();
    let pushes = pushes(input, &placed, &force_n, direction)?;
    let total_n: f64 = pushes.iter().map(|push| push.force_n.abs()).sum();
    let weight_n = placed.weight_n();
    let picks_m = picks_m(hanging, &placed);

    let mut loads = WindLoads {
        end: RestEnd::AtRest,
        residual: 0.0,
        pressure_pa,
        force_n,
        total_n,
        line_rad: total_n.atan2(weight_n),
        tilt_rad: placed.frame_axis_rad,
        lean_rad: 0.0,
        pan_moment_nm: 0.0,
        hoist_n: vec![0.0; picks_m.len()],
        slack: vec![false; picks_m.len()],
        splay_rad: hang
            .splays_deg
            .iter()
            .map(|splay| splay.to_radians())
            .collect(),
        joint_moment_nm: Vec::new(),
        hold_tilt_n: 0.0,
        hold_plumb_n: total_n,
    };
    let lower_rear = placed.corners_m[hang.cabinets.len() - 1][2];
    let lever_m = picks_m[0].y - pull_at_m.map_or(lower_rear, Vec2::from).y;
    positive("pull_at_m", lever_m).map_err(|error| InputError {
        allowed: "a place below the first pick".to_owned(),
        ..error
    })?;
    let from_side = input.from == From::Side;
    let deep = |push: &Push| push.force_n * (picks_m[0].y - push.at_m.y);
    let mut hold_nm: f64 = pushes.iter().map(deep).sum();
    if !from_side {
        hold_nm = (hold_nm + weight_n * (picks_m[0].x - placed.cg_m.x)).abs();
    }
    loads.hold_tilt_n = hold_nm / lever_m;
    let in_plane: &[Push] = if from_side { &[] } else { &pushes };
    let mut still = Mechanism::of(
        hang,
        &hang.splays_deg,
        placed.frame_axis_rad,
        TopJoint::Locked,
    );
    if input.closed {
        still.lock_at_stops();
    }
    let mut held: Vec<usize> = (0..picks_m.len()).collect();
    loop {
        let held_m: Vec<Vec2> = held.iter().map(|&hoist| picks_m[hoist]).collect();
        let pick_x_m = (held.len() == 1).then(|| hanging.pick_x_m[held[0]]);
        let mechanism = blown(hang, still.clone(), &placed, in_plane, pick_x_m);
        let rested = free_hang(&mechanism);
        let hung = Hung::new(&mechanism, &rested, &held_m, hanging.top_m);
        let leaning = from_side.then(|| lean(&hung, &pushes, &placed, &held_m, total_n));
        let pulls = match &leaning {
            Some(leaning) => leaning.pull_n.clone(),
            None => hung.pulls_n(&held_m, direction * total_n),
        };
        let slack = pulls.iter().position(|&pull| pull < 0.0);
        if let (2, Some(slack)) = (held.len(), slack) {
            held.remove(slack);
            continue;
        }
        for hoist in 0..picks_m.len() {
            loads.slack[hoist] = !held.contains(&hoist);
        }
        for (&hoist, pull) in held.iter().zip(pulls) {
            loads.hoist_n[hoist] = pull;
        }
        let first = mechanism.hooks + 1;
        let between = first..first + hang.splays_deg.len();
        if mechanism.hooks == 1 {
            loads.tilt_rad = -rested.state.angle_rad[0];
        }
        loads.splay_rad = rested.state.angle_rad[between.clone()].to_vec();
        match leaning {
            Some(leaning) => {
                loads.lean_rad = leaning.lean_rad;
                loads.pan_moment_nm = leaning.pan_moment_nm;
            }
            None => loads.joint_moment_nm = rested.state.load_nm[between].to_vec(),
        }
        loads.end = rested.end;
        loads.residual = rested.residual;
        return Ok(loads);
    }
}

/// How a hang leans across its plane.
struct Lean {
    lean_rad: f64,
    pan_moment_nm: f64,
    /// One per pick; negative where its line would have to push.
    pull_n: Vec<f64>,
}

/// Lean about the line of the picks that hold, about a level one below a single pick, with the pan
/// held by a moment about the plumb axis.
///
/// At s along that line, which rises by φ, and depth d below it a place comes to
/// x = s cos φ + d cos λ sin φ, y = d sin λ, z = s sin φ − d cos λ cos φ from the first pick. Moments
/// about y give the hoists' shares; with them those about x vanish where C sin λ = A cos λ + B,
/// A = cos φ Σ F d + sin φ tan φ d_G Σ F, B = sin φ (s_G Σ F − Σ F s), C = W d_G.
fn lean(hung: &Hung, pushes: &[Push], placed: &Pose, picks_m: &[Vec2], total_n: f64) -> Lean {
    let first = picks_m[0];
    let line = match *picks_m {
        [_, second] => (second - first).normalize() * (second.x - first.x).signum(),
        _ => Vec2::x(),
    };
    let along = |at: Vec2| (at - first).dot(&line);
    let depth = |at: Vec2| -line.perp(&(at - first));
    let body = |push: &Push| hung.mechanism.hooks + 1 + push.cabinet;
    let wind: Vec<(Vec2, f64)> = pushes
        .iter()
        .map(|push| {
            (
                hung.point(body(push), in_cabinet(placed, push)),
                push.force_n,
            )
        })
        .collect();
    let weight_n: f64 = hung.weights().map(|(_, weight_n)| weight_n).sum();
    let cg = hung
        .weights()
        .map(|(at, weight_n)| at * weight_n)
        .sum::<Vec2>()
        / weight_n;
    let deep: f64 = wind.iter().map(|&(at, force)| force * depth(at)).sum();
    let far: f64 = wind.iter().map(|&(at, force)| force * along(at)).sum();
    let cosine = line.x * deep + line.y * line.y / line.x * depth(cg) * total_n;
    let constant = line.y * (along(cg) * total_n - far);
    let sine = weight_n * depth(cg);
    let lean_rad = cosine.atan2(sine) + (constant / cosine.hypot(sine)).clamp(-1.0, 1.0).asin();
    let x = |at: Vec2| first.x + along(at) * line.x + depth(at) * lean_rad.cos() * line.y;
    let pull_n = weight_n.hypot(total_n);
    Lean {
        lean_rad,
        pan_moment_nm: wind
            .iter()
            .map(|&(at, force)| force * (x(at) - x(cg)))
            .sum(),
        pull_n: match *picks_m {
            [first, second] => {
                let share = (x(cg) - second.x) / (first.x - second.x);
                vec![pull_n * share, pull_n * (1.0 - share)]
            }
            _ => vec![pull_n],
        },
    }
}
