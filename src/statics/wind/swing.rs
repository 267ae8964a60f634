//! Where does a hang come to rest in a steady wind, and what do its hoists and joints carry?
//!
//! The wind is a dead load: F = c_s c_d c_f q A at the middle of each cabinet, A its shadow at the
//! tilt it was hung at. On plumb lines that only pull, the lines lean by tan α = ΣF / W. The hang
//! comes to rest at least energy within its joints' bounds; on one line its frame turns about the
//! pick, on two equal ones it keeps its tilt, as a parallelogram. Wind from the side leans the hang, at rest in still air, about
//! the line of its picks; its pan is taken as held, and the moment that takes is told.

use super::pressure::{Wind, section_coefficient};
use crate::equilibrium::minimum::RestEnd;
use crate::error::{InputError, Result, accept, each, finite, non_negative, positive};
use crate::model::{Cabinet, Hang, Valid};
use crate::pose::mechanism::{Mechanism, TopJoint};
use crate::pose::{Pose, Vec2, pose};
use crate::statics::rest::{Rested, free_hang};
use nalgebra::Rotation2;
use std::f64::consts::PI;

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
    let pushes = pushes(input, &placed, &force_n, direction)?;
    let total_n: f64 = pushes.iter().map(|push| push.force_n.abs()).sum();
    let weight_n = placed.weight_n();
    let turn = Rotation2::new(placed.frame_axis_rad);
    let picks_m: Vec<Vec2> = input
        .pick_x_m
        .iter()
        .map(|&x| Vec2::new(0.0, input.top_m) + turn * Vec2::new(x, hang.frame.pick_z_m))
        .collect();

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
    let mut held: Vec<usize> = (0..picks_m.len()).collect();
    loop {
        let held_m: Vec<Vec2> = held.iter().map(|&hoist| picks_m[hoist]).collect();
        let pick_x_m = (held.len() == 1).then(|| input.pick_x_m[held[0]]);
        let mechanism = blown(hang, input, &placed, in_plane, pick_x_m);
        let rested = free_hang(&mechanism);
        let hung = Hung::new(&mechanism, &rested, &held_m, input.top_m);
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

/// A wind force on a cabinet, in the hang's plane at the stated tilt, room axes.
struct Push {
    cabinet: usize,
    at_m: Vec2,
    force_n: f64,
}

/// The wind on cabinets and shadows.
fn pushes(input: &WindInput, placed: &Pose, force_n: &[f64], direction: f64) -> Result<Vec<Push>> {
    let mut pushes: Vec<Push> = force_n
        .iter()
        .enumerate()
        .map(|(cabinet, force_n)| Push {
            cabinet,
            at_m: placed.corners_m[cabinet].iter().sum::<Vec2>() / 4.0,
            force_n: direction * force_n,
        })
        .collect();
    for shadow in &input.shadows {
        let at_m = Vec2::from(shadow.at_m);
        let pressure = input.wind.at(at_m.y)?.pressure_pa * input.structural_factor;
        let hangs_from = |hinge: &Vec2| at_m.y <= hinge.y;
        let hinges_m = &placed.hinge_m[..force_n.len()];
        pushes.push(Push {
            cabinet: hinges_m.iter().rposition(hangs_from).unwrap_or(0),
            at_m,
            force_n: direction * pressure * shadow.area_m2,
        });
    }
    Ok(pushes)
}

/// The hang with the wind on it, its frame held at the stated tilt or turning on one pick.
fn blown(
    hang: &Hang,
    input: &WindInput,
    placed: &Pose,
    pushes: &[Push],
    pick_x_m: Option<f64>,
) -> Mechanism {
    let tilt_rad = placed.frame_axis_rad;
    let mut mechanism = Mechanism::of(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked);
    if input.closed {
        for travel in &mut mechanism.travels {
            travel.open_rad = travel.stop_rad;
        }
    }
    for push in pushes {
        let body = &mut mechanism.bodies[push.cabinet + 1];
        let at_m = in_cabinet(placed, push);
        let force_n = body.push_n.x + push.force_n;
        // All forces point one way, so that together they act at their mean place.
        if force_n != 0.0 {
            body.push_at_m += (at_m - body.push_at_m) * (push.force_n / force_n);
        }
        body.push_n.x = force_n;
    }
    match pick_x_m {
        Some(x_m) => mechanism.on_hook(Vec2::new(x_m, hang.frame.pick_z_m), [-PI, PI]),
        None => mechanism,
    }
}

/// Where a push acts, from its cabinet's upper hinge in the cabinet's own axes.
fn in_cabinet(placed: &Pose, push: &Push) -> Vec2 {
    let turn = Rotation2::new(-placed.axis_rad[push.cabinet]);
    turn * (push.at_m - placed.hinge_m[push.cabinet])
}

/// The hang where it came to rest, in room axes.
struct Hung<'a> {
    mechanism: &'a Mechanism,
    rested: &'a Rested,
    origin_m: Vec2,
}

impl<'a> Hung<'a> {
    fn new(mechanism: &'a Mechanism, rested: &'a Rested, held_m: &[Vec2], top_m: f64) -> Self {
        let top = Vec2::new(0.0, top_m);
        Self {
            mechanism,
            rested,
            origin_m: if mechanism.hooks == 1 { held_m[0] } else { top },
        }
    }

    fn point(&self, body: usize, at_m: Vec2) -> Vec2 {
        self.origin_m + self.rested.state.point(body, at_m)
    }

    /// Every weight with its place.
    fn weights(&self) -> impl Iterator<Item = (Vec2, f64)> {
        let bodies = self.mechanism.bodies.iter().enumerate();
        let gravity_m_s2 = self.mechanism.gravity_m_s2;
        bodies.map(move |(index, body)| (self.point(index, body.cg_m), gravity_m_s2 * body.mass_kg))
    }

    /// Pulls of the lines that hold the hang in the wind in its plane.
    fn pulls_n(&self, held_m: &[Vec2], wind_n: f64) -> Vec<f64> {
        let weight_n: f64 = self.weights().map(|(_, weight_n)| weight_n).sum();
        let resultant_n = weight_n.hypot(wind_n);
        let [first, second] = *held_m else {
            return vec![resultant_n];
        };
        let weighing: f64 = self.weights().map(|(at, n)| n * (first.x - at.x)).sum();
        let bodies = self.mechanism.bodies.iter().enumerate();
        let blowing: f64 = bodies
            .map(|(index, body)| {
                let at = self.point(index, body.push_at_m);
                body.push_n.x * (first.y - at.y)
            })
            .sum();
        let along = Vec2::new(-wind_n, weight_n) / resultant_n;
        let second_n = -(weighing + blowing) / (second - first).perp(&along);
        vec![resultant_n - second_n, second_n]
    }
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
