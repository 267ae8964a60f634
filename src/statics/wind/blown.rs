//! A hang with the wind on it, and on which lines it hangs.
//!
//! The wind is a dead load: F = c_s c_d c_f q A at the middle of each cabinet, A its shadow at the
//! tilt it was hung at. On lines that only pull, all alike, the lines lean by tan α = ΣF / W.
//! On one line the frame turns about the pick, on two equal ones it keeps its tilt, as a
//! parallelogram.

use super::pressure::{Wind, section_coefficient};
use crate::error::{Result, accept, each, finite, non_negative, positive};
use crate::model::{Cabinet, Hang};
use crate::pose::mechanism::Mechanism;
use crate::pose::{Hanging, Pose, Vec2};
use crate::statics::rest::Rested;
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

/// The wind on a hang as it hangs in still air.
#[derive(Clone, Debug, PartialEq)]
pub struct WindInput {
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

impl From {
    /// Which way in the hang's plane, or across it, the wind pushes.
    pub(super) fn direction(self) -> f64 {
        match self {
            Self::Front => -1.0,
            Self::Rear | Self::Side => 1.0,
        }
    }
}

/// A wind force on a cabinet, in the hang's plane at the stated tilt, room axes.
pub(super) struct Push {
    pub cabinet: usize,
    pub at_m: Vec2,
    pub force_n: f64,
}

/// Picks at the stated tilt, room axes.
pub(super) fn picks_m(hanging: &Hanging<'_>, placed: &Pose) -> Vec<Vec2> {
    let turn = Rotation2::new(placed.frame_axis_rad);
    let pick = |&x: &f64| turn * Vec2::new(x, hanging.hang.frame.pick_z_m);
    let picks = hanging.pick_x_m.iter().map(pick);
    picks
        .map(|at_m| Vec2::new(0.0, hanging.top_m) + at_m)
        .collect()
}

/// The wind on cabinets and shadows.
pub(super) fn pushes(
    input: &WindInput,
    placed: &Pose,
    force_n: &[f64],
    direction: f64,
) -> Result<Vec<Push>> {
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

/// A hang with the wind on it, its frame held at the stated tilt or turning on one pick.
pub(super) fn blown(
    hang: &Hang,
    mut mechanism: Mechanism,
    placed: &Pose,
    pushes: &[Push],
    pick_x_m: Option<f64>,
) -> Mechanism {
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
pub(super) fn in_cabinet(placed: &Pose, push: &Push) -> Vec2 {
    let turn = Rotation2::new(-placed.axis_rad[push.cabinet]);
    turn * (push.at_m - placed.hinge_m[push.cabinet])
}

/// The hang where it came to rest, in room axes.
pub(super) struct Hung<'a> {
    pub mechanism: &'a Mechanism,
    rested: &'a Rested,
    origin_m: Vec2,
}

impl<'a> Hung<'a> {
    pub fn new(mechanism: &'a Mechanism, rested: &'a Rested, held_m: &[Vec2], top_m: f64) -> Self {
        let top = Vec2::new(0.0, top_m);
        Self {
            mechanism,
            rested,
            origin_m: if mechanism.hooks == 1 { held_m[0] } else { top },
        }
    }

    pub fn point(&self, body: usize, at_m: Vec2) -> Vec2 {
        self.origin_m + self.rested.state.point(body, at_m)
    }

    /// Every weight with its place.
    pub fn weights(&self) -> impl Iterator<Item = (Vec2, f64)> {
        let bodies = self.mechanism.bodies.iter().enumerate();
        let gravity_m_s2 = self.mechanism.gravity_m_s2;
        bodies.map(move |(index, body)| (self.point(index, body.cg_m), gravity_m_s2 * body.mass_kg))
    }

    /// Pulls of the lines that hold the hang in the wind in its plane.
    pub fn pulls_n(&self, held_m: &[Vec2], wind_n: f64) -> Vec<f64> {
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

/// The hang where it was hung, for an input within bounds.
pub(super) fn check(hanging: &Hanging<'_>, input: &WindInput) -> Result<Pose> {
    let Hanging {
        pick_x_m, top_m, ..
    } = *hanging;
    accept(
        matches!(pick_x_m.len(), 1 | 2),
        "pick_x_m",
        format!("{pick_x_m:?}"),
        "one or two picks",
    )?;
    each("pick_x_m", pick_x_m, finite)?;
    if let [first, second] = *pick_x_m {
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
    let placed = hanging.pose()?;
    accept(
        placed.trim_m >= 0.0,
        "top_m",
        top_m,
        format!(
            "at least {}, the hang clear of the ground",
            top_m - placed.trim_m
        ),
    )?;
    Ok(placed)
}

/// Pressure at each cabinet, and force on it.
pub(super) fn forces(
    hang: &Hang,
    input: &WindInput,
    placed: &Pose,
) -> Result<(Vec<f64>, Vec<f64>)> {
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
