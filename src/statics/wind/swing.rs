//! Where does a hang come to rest in a steady wind, and what do its hoists and joints carry?
//!
//! The wind is a dead load: F = c_s c_d c_f q A at the middle of each cabinet, A its shadow at the
//! tilt it was hung at. On plumb lines that only pull, the lines lean by tan α = ΣF / W. Each body
//! turns about its upper hinge, the top one about its pick (`chain`). On two equal lines the frame
//! keeps its tilt, as a parallelogram. Wind from the side leans the hang, at rest in still air, about
//! the line of its picks; its pan is taken as held, and the moment that takes is told.

use super::chain::{Body, Chain, turned};
use super::pressure::{Wind, section_coefficient};
use crate::error::{InputError, Result, accept, each, finite, non_negative, positive};
use crate::model::{Cabinet, Hang, Rigging, Valid};
use crate::pose::{Pose, Vec2, pose};
use crate::statics::balance::GRAVITY_M_S2;
use nalgebra::Rotation2;

/// Which way the wind blows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum From {
    /// Onto the front faces, towards −x.
    Front,
    /// Onto the rear faces, towards +x.
    Rear,
    /// Onto a side, across the hang's plane.
    Side,
}

/// A body besides the cabinets that takes wind: a frame, a cable, a banner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shadow {
    /// Where its force acts, in the hang's plane at the stated tilt, room axes.
    pub at_m: [f64; 2],
    /// Its area times its force coefficient.
    pub area_m2: f64,
}

/// A hang in the wind.
#[derive(Clone, Debug, PartialEq)]
pub struct WindInput {
    /// Tilt of the frame in still air.
    pub tilt_deg: f64,
    /// Height of cabinet 0's upper front hinge above the ground.
    pub top_m: f64,
    /// One or two picks.
    pub pick_x_m: Vec<f64>,
    /// The wind.
    pub wind: Wind,
    /// Its direction.
    pub from: From,
    /// Force coefficient of every cabinet; `None` takes that of its section.
    pub coefficient: Option<f64>,
    /// Structural factor c_s c_d.
    pub structural_factor: f64,
    /// Other bodies.
    pub shadows: Vec<Shadow>,
    /// Whether a compression hang is closed, its joints locked on their stops.
    pub closed: bool,
}

/// A hang at rest in the wind.
#[derive(Clone, Debug, PartialEq)]
pub struct WindLoads {
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
    hang: &Valid<Hang>,
    input: &WindInput,
    pull_at_m: Option<[f64; 2]>,
) -> Result<WindLoads> {
    let placed = check(hang, input)?;
    if let Some(point) = pull_at_m {
        each("pull_at_m", &point, finite)?;
    }
    let (pressure_pa, force_n) = forces(hang, input, &placed)?;
    let direction = match input.from {
        From::Front => -1.0,
        From::Rear | From::Side => 1.0,
    };
    let calm = bodies(hang, &placed);
    let mut bodies = calm.clone();
    blow(&mut bodies, input, &placed, &force_n, direction)?;
    let total_n: f64 = bodies
        .iter()
        .flat_map(|body| &body.wind)
        .map(|(_, f)| f.abs())
        .sum();
    let weight_n = placed.mass_kg * GRAVITY_M_S2;
    let turn = Rotation2::new(placed.frame_axis_rad);
    let picks_m: Vec<Vec2> = input
        .pick_x_m
        .iter()
        .map(|&x| Vec2::new(0.0, input.top_m) + turn * Vec2::new(x, hang.frame.pick_z_m))
        .collect();

    let mut loads = WindLoads {
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
    loads.hold_tilt_n = if from_side {
        wind_moment_nm(&bodies, picks_m[0]) / lever_m
    } else {
        turning_nm(&bodies, picks_m[0]).abs() / lever_m
    };
    let ranges = joint_ranges(hang, input.closed);
    let mut held: Vec<usize> = (0..picks_m.len()).collect();
    loop {
        let hung = if from_side { &calm } else { &bodies };
        let in_plane_n = if from_side { 0.0 } else { direction * total_n };
        let chain = Chain::new(hung, picks_m[held[0]], held.len() == 2, &ranges);
        let rest = chain.rest();
        let mut pulls = chain.pulls(&rest, &held, &picks_m, hung, weight_n, in_plane_n);
        let leaning = from_side.then(|| {
            let turned = turned(&bodies, picks_m[held[0]], &rest);
            let held_m: Vec<Vec2> = held.iter().map(|&hoist| picks_m[hoist]).collect();
            lean(&turned, &held_m, weight_n, total_n)
        });
        if let Some(leaning) = &leaning {
            pulls.clone_from(&leaning.pull_n);
        }
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
        loads.tilt_rad += rest.turn_rad[0];
        for (joint, splay) in loads.splay_rad.iter_mut().enumerate() {
            *splay += rest.turn_rad[joint] - rest.turn_rad[joint + 1];
        }
        match leaning {
            Some(leaning) => {
                loads.lean_rad = leaning.lean_rad;
                loads.pan_moment_nm = leaning.pan_moment_nm;
            }
            None => loads.joint_moment_nm = rest.joint_moment_nm,
        }
        return Ok(loads);
    }
}

/// Adds the wind on cabinets and shadows to the bodies.
fn blow(
    bodies: &mut [Body],
    input: &WindInput,
    placed: &Pose,
    force_n: &[f64],
    direction: f64,
) -> Result<()> {
    for (index, force) in force_n.iter().enumerate() {
        let middle = placed.corners_m[index].iter().sum::<Vec2>() / 4.0;
        bodies[index].wind.push((middle, direction * force));
    }
    for shadow in &input.shadows {
        let at = Vec2::from(shadow.at_m);
        let pressure = input.wind.at(at.y)?.pressure_pa * input.structural_factor;
        let body = (0..bodies.len())
            .rev()
            .find(|&body| at.y <= bodies[body].hinge_m.y)
            .unwrap_or(0);
        bodies[body]
            .wind
            .push((at, direction * pressure * shadow.area_m2));
    }
    Ok(())
}

fn check(hang: &Valid<Hang>, input: &WindInput) -> Result<Pose> {
    accept(
        matches!(input.pick_x_m.len(), 1 | 2),
        "pick_x_m",
        format!("{:?}", input.pick_x_m),
        "one or two picks",
    )?;
    each("pick_x_m", &input.pick_x_m, finite)?;
    if let [first, second] = input.pick_x_m[..] {
        accept(
            (first - second).abs() > 1e-6,
            "pick_x_m",
            second,
            "two picks that stand apart",
        )?;
    }
    input.wind.check()?;
    if let Some(coefficient) = input.coefficient {
        positive("coefficient", coefficient)?;
    }
    positive("structural_factor", input.structural_factor)?;
    for (index, shadow) in input.shadows.iter().enumerate() {
        each(&format!("shadows[{index}].at_m"), &shadow.at_m, finite)?;
        non_negative(&format!("shadows[{index}].area_m2"), shadow.area_m2)?;
    }
    let placed = pose(hang, input.tilt_deg, input.top_m)?;
    accept(
        placed.trim_m >= 0.0,
        "top_m",
        input.top_m,
        format!(
            "at least {}, the hang clear of the ground",
            input.top_m - placed.trim_m
        ),
    )?;
    Ok(placed)
}

fn forces(hang: &Hang, input: &WindInput, placed: &Pose) -> Result<(Vec<f64>, Vec<f64>)> {
    let mut pressures = Vec::with_capacity(hang.cabinets.len());
    let mut forces = Vec::with_capacity(hang.cabinets.len());
    for (index, cabinet) in hang.cabinets.iter().enumerate() {
        let (area_m2, width_m, depth_m) = shadow_of(cabinet, placed.axis_rad[index], input.from);
        let coefficient = match input.coefficient {
            Some(coefficient) => coefficient,
            None => section_coefficient(width_m, depth_m)
                .map_err(|error| error.within(&format!("cabinets[{index}]")))?,
        };
        let middle = placed.corners_m[index].iter().sum::<Vec2>() / 4.0;
        let pressure_pa = input.wind.at(middle.y)?.pressure_pa;
        pressures.push(pressure_pa);
        forces.push(input.structural_factor * coefficient * pressure_pa * area_m2);
    }
    Ok((pressures, forces))
}

/// Area a cabinet shows to the wind, and its plan section across and along the wind.
fn shadow_of(cabinet: &Cabinet, axis_rad: f64, from: From) -> (f64, f64, f64) {
    if from == From::Side {
        let height_m = (cabinet.height_m + cabinet.rear_height_m()) / 2.0;
        return (height_m * cabinet.depth_m, cabinet.depth_m, cabinet.width_m);
    }
    let height_m = cabinet.height_m * axis_rad.cos() + cabinet.depth_m * axis_rad.sin().abs();
    (height_m * cabinet.width_m, cabinet.width_m, cabinet.depth_m)
}

fn bodies(hang: &Hang, placed: &Pose) -> Vec<Body> {
    let last = hang.cabinets.len() - 1;
    let weigh = |index: usize| {
        let mass = &placed.masses[index];
        (mass.cg_m, mass.mass_kg * GRAVITY_M_S2)
    };
    let mut bodies: Vec<Body> = (0..=last)
        .map(|index| Body {
            hinge_m: placed.hinge_m[index],
            weights: vec![weigh(index + 1)],
            wind: Vec::new(),
        })
        .collect();
    bodies[0].weights.push(weigh(0));
    if hang.bottom.is_some() {
        bodies[last].weights.push(weigh(last + 2));
    }
    bodies
}

/// Least and greatest turn of each joint from its pinned angle; equal where it is locked.
fn joint_ranges(hang: &Hang, closed: bool) -> Vec<[f64; 2]> {
    hang.splays_deg
        .iter()
        .map(|splay| {
            if hang.rigging == Rigging::Tension || closed {
                [0.0, 0.0]
            } else {
                [(hang.open_limit_deg - splay).to_radians(), 0.0]
            }
        })
        .collect()
}

/// Moment of weights and wind in the hang's plane about a point, turning up positive.
fn turning_nm(bodies: &[Body], about: Vec2) -> f64 {
    let weights = bodies.iter().flat_map(|body| &body.weights);
    let weighing: f64 = weights.map(|(at, weight)| weight * (about.x - at.x)).sum();
    weighing + wind_moment_nm(bodies, about)
}

/// Moment of the wind about a point, by depth below it.
fn wind_moment_nm(bodies: &[Body], about: Vec2) -> f64 {
    let wind = bodies.iter().flat_map(|body| &body.wind);
    wind.map(|(at, force)| force * (about.y - at.y)).sum()
}

/// How a hang leans across its plane.
struct Lean {
    lean_rad: f64,
    pan_moment_nm: f64,
    /// One a pick; negative where its line would have to push.
    pull_n: Vec<f64>,
}

/// Lean about the line of the picks that hold, about a level one below a single pick, with the pan
/// held by a moment about the plumb axis.
///
/// At s along that line, which rises by φ, and depth d below it a place comes to
/// x = s cos φ + d cos λ sin φ, y = d sin λ, z = s sin φ − d cos λ cos φ from the first pick. Moments
/// about y give the hoists' shares; with them those about x vanish where C sin λ = A cos λ + B,
/// A = cos φ Σ F d + sin φ tan φ d_G Σ F, B = sin φ (s_G Σ F − Σ F s), C = W d_G.
fn lean(bodies: &[Body], picks_m: &[Vec2], weight_n: f64, total_n: f64) -> Lean {
    let first = picks_m[0];
    let line = match *picks_m {
        [_, second] => (second - first).normalize() * (second.x - first.x).signum(),
        _ => Vec2::x(),
    };
    let along = |at: Vec2| (at - first).dot(&line);
    let depth = |at: Vec2| -line.perp(&(at - first));
    let weights = || bodies.iter().flat_map(|body| &body.weights);
    let wind = || bodies.iter().flat_map(|body| &body.wind);
    let cg = weights().map(|&(at, weight)| at * weight).sum::<Vec2>() / weight_n;
    let deep: f64 = wind().map(|&(at, force)| force * depth(at)).sum();
    let far: f64 = wind().map(|&(at, force)| force * along(at)).sum();
    let cosine = line.x * deep + line.y * line.y / line.x * depth(cg) * total_n;
    let constant = line.y * (along(cg) * total_n - far);
    let sine = weight_n * depth(cg);
    let lean_rad = cosine.atan2(sine) + (constant / cosine.hypot(sine)).clamp(-1.0, 1.0).asin();
    let x = |at: Vec2| first.x + along(at) * line.x + depth(at) * lean_rad.cos() * line.y;
    let pull_n = weight_n.hypot(total_n);
    Lean {
        lean_rad,
        pan_moment_nm: wind().map(|&(at, force)| force * (x(at) - x(cg))).sum(),
        pull_n: match *picks_m {
            [first, second] => {
                let share = (x(cg) - second.x) / (first.x - second.x);
                vec![pull_n * share, pull_n * (1.0 - share)]
            }
            _ => vec![pull_n],
        },
    }
}
