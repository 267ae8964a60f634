use super::pressure::*;
use super::swing::*;
use crate::equilibrium::minimum::RestEnd;
use crate::model::{BottomFrame, Cabinet, FlyFrame, Hang, Rigging, Valid, demo};
use crate::pose::{Hanging, Vec2, place};
use crate::statics::balance::hanging_tilt;
use approx::assert_relative_eq;
use nalgebra::{Rotation2, Rotation3, Unit, Vector3};
use proptest::prelude::*;

fn hang(rigging: Rigging, splays_deg: &[f64]) -> Valid<Hang> {
    let cabinet = Cabinet {
        depth_m: 0.58,
        width_m: 1.15,
        cg_m: [-0.27, 0.0],
        ..demo::cabinet()
    };
    let frame = FlyFrame {
        mass_kg: 75.0,
        height_m: 0.25,
        cg_m: [-0.35, 0.12],
        pick_x_m: vec![0.0, -0.5],
        pick_z_m: 0.22,
        ..demo::fly_frame()
    };
    let bottom = BottomFrame {
        mass_kg: 20.0,
        cg_m: [-0.3, -0.1],
        chain_anchor_m: None,
        fixed_splay_deg: 0.0,
        rear_pin_m: None,
        rear_outline_m: Vec::new(),
        limits: Default::default(),
    };
    Valid::new(Hang {
        frame,
        rigging,
        bottom: Some(bottom),
        ..demo::hang(cabinet, splays_deg)
    })
    .unwrap()
}

fn hung<'a>(hang: &'a Valid<Hang>, picks: &'a [f64], tilt_deg: f64) -> Hanging<'a> {
    Hanging::at(hang, tilt_deg).top(12.0).on(picks)
}

fn input(speed_m_s: f64) -> WindInput {
    WindInput {
        wind: Wind::Speed {
            speed_m_s,
            density_kg_m3: AIR_DENSITY_KG_M3,
        },
        from: From::Front,
        coefficient: None,
        structural_factor: 1.0,
        shadows: Vec::new(),
        closed: false,
    }
}

#[test]
fn in_still_air_a_hang_on_one_pick_keeps_its_hanging_tilt() {
    let hang = hang(Rigging::Tension, &[1.0, 2.0, 5.0]);
    let tilt = hanging_tilt(&hang, -0.25).unwrap();
    let rest = wind_loads(&hung(&hang, &[-0.25], tilt), &input(0.0), None).unwrap();
    assert_relative_eq!(rest.tilt_rad.to_degrees(), tilt, epsilon = 1e-9);
    let from_elsewhere = wind_loads(&hung(&hang, &[-0.25], 0.0), &input(0.0), None).unwrap();
    assert_relative_eq!(from_elsewhere.tilt_rad.to_degrees(), tilt, epsilon = 1e-9);
}

#[test]
fn two_lines_share_the_weight_as_in_still_air() {
    let hang = hang(Rigging::Tension, &[1.0, 2.0, 5.0]);
    let rest = wind_loads(&hung(&hang, &[0.0, -0.5], 1.0), &input(0.0), None).unwrap();
    let still =
        crate::statics::balance::hoist_loads(&Hanging::at(&hang, 1.0).on(&[0.0, -0.5])).unwrap();
    for (a, b) in rest.hoist_n.iter().zip(&still.load_n) {
        assert_relative_eq!(a, b, max_relative = 1e-10);
    }
}

#[test]
fn without_a_chain_gravity_opens_the_joints_to_their_limit() {
    let hang = hang(Rigging::Compression, &[2.0, 2.0]);
    let rest = wind_loads(&hung(&hang, &[0.0, -0.5], 0.0), &input(0.0), None).unwrap();
    for splay in &rest.splay_rad {
        assert_relative_eq!(splay.to_degrees(), -2.0, epsilon = 1e-9);
    }
}

#[test]
fn wind_from_behind_presses_open_joints_back_on_their_stops() {
    let hang = hang(Rigging::Compression, &[2.0, 2.0]);
    let hanging = hung(&hang, &[0.0, -0.5], 0.0);
    let mut windy = input(45.0);
    windy.from = From::Rear;
    let rear = wind_loads(&hanging, &windy, None).unwrap();
    windy.from = From::Front;
    let front = wind_loads(&hanging, &windy, None).unwrap();
    assert!(rear.splay_rad[0] < front.splay_rad[0] + 1e-12);
    assert!(rear.joint_moment_nm[0] > front.joint_moment_nm[0]);
}

/// Every free joint is in balance, every stop is pressed, every line's pull balances all: by moments
/// of the placed hang, to 1e-10 of the weight, at a metre for moments. Gives the number of free
/// joints.
fn assert_in_balance(hanging: &Hanging<'_>, given: &WindInput) -> usize {
    let hang = hanging.hang;
    let rest = wind_loads(hanging, given, None).unwrap();
    assert_eq!(rest.end, RestEnd::AtRest);
    assert!(rest.residual < 1e-9);
    let splays_deg: Vec<f64> = rest.splay_rad.iter().map(|s| s.to_degrees()).collect();
    let placed = place(hang, &splays_deg, rest.tilt_rad.to_degrees(), hanging.top_m);
    let weight = 9.80665 * placed.mass_kg;
    let rounding = 1e-10 * weight;
    let wind_n = if given.from == From::Rear { 1.0 } else { -1.0 };
    let pull: f64 = rest.hoist_n.iter().sum();
    assert!((pull - weight.hypot(rest.total_n)).abs() < rounding);
    assert!(rest.hoist_n.iter().all(|&pull| pull >= 0.0));
    // Of the frame and cabinets from `first` down, opening the rear positive.
    let moment_nm = |first: usize, about: Vec2| -> f64 {
        let parts = &placed.masses[if first == 0 { 0 } else { first + 1 }..];
        let weighing: f64 = parts
            .iter()
            .map(|part| part.mass_kg * 9.80665 * (about.x - part.cg_m.x))
            .sum();
        let blowing: f64 = (first..hang.cabinets.len())
            .map(|cabinet| {
                let middle = placed.corners_m[cabinet].iter().sum::<Vec2>() / 4.0;
                wind_n * rest.force_n[cabinet] * (about.y - middle.y)
            })
            .sum();
        weighing + blowing
    };
    let turn = Rotation2::new(rest.tilt_rad);
    let line = Vec2::new(-wind_n * rest.total_n, weight) / weight.hypot(rest.total_n);
    let mut about_hinge = moment_nm(0, placed.hinge_m[0]);
    for (&x, pull) in hanging.pick_x_m.iter().zip(&rest.hoist_n) {
        let arm = turn * Vec2::new(x, 0.22);
        about_hinge += pull * arm.perp(&line);
    }
    assert!(about_hinge.abs() < rounding);
    let mut free = 0;
    for (joint, &splay) in rest.splay_rad.iter().enumerate() {
        let (low, high) = ((-2.0_f64).to_radians(), hang.splays_deg[joint].to_radians());
        let moment = moment_nm(joint + 1, placed.hinge_m[joint + 1]);
        assert!((moment - rest.joint_moment_nm[joint]).abs() < rounding);
        assert!(splay > low - 1e-12 && splay < high + 1e-12);
        if hang.rigging == Rigging::Tension {
            continue;
        }
        if splay > high - 1e-12 {
            assert!(moment < rounding);
        } else if splay < low + 1e-12 {
            assert!(moment > -rounding);
        } else {
            assert!(moment.abs() < rounding);
            free += 1;
        }
    }
    free
}

#[test]
fn joints_that_hang_free_between_open_limit_and_stop_are_in_balance() {
    let hang = hang(Rigging::Compression, &[1.0, 2.0, 5.0, 2.0, 0.0, 5.0, 1.0]);
    let mut free = 0;
    for tilt_deg in [-10.0, -5.0, 0.0, 5.0, 10.0] {
        for speed in 0..80 {
            let mut blow = input(f64::from(speed));
            free += assert_in_balance(&hung(&hang, &[0.0, -0.5], tilt_deg), &blow);
            blow.from = From::Rear;
            free += assert_in_balance(&hung(&hang, &[0.0], tilt_deg), &blow);
        }
    }
    assert!(free > 100, "{free} free joints");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_hang_at_rest_is_in_balance(
        speed in 0.0..60.0f64, tilt in -6.0..6.0f64, rear in any::<bool>(), two in any::<bool>(),
        tension in any::<bool>(),
    ) {
        let rigging = if tension { Rigging::Tension } else { Rigging::Compression };
        let picks: &[f64] = if two { &[0.0, -0.5] } else { &[-0.3] };
        let mut given = input(speed);
        if rear { given.from = From::Rear; }
        let hang = hang(rigging, &[1.0, 2.0, 5.0, 2.0]);
        assert_in_balance(&hung(&hang, picks, tilt), &given);
    }

    /// With pins up to the largest, and long enough for many joints to hang free.
    #[test]
    fn a_long_open_hang_with_any_pins_is_in_balance(
        pins in prop::collection::vec(prop::sample::select(vec![0.0, 1.0, 2.0, 5.0, 10.0]), 5..23),
        speed in 0.0..40.0f64, tilt in -6.0..6.0f64, rear in any::<bool>(), two in any::<bool>(),
    ) {
        let picks: &[f64] = if two { &[0.0, -0.5] } else { &[-0.3] };
        let mut given = input(speed);
        if rear { given.from = From::Rear; }
        let hang = hang(Rigging::Compression, &pins);
        assert_in_balance(&hung(&hang, picks, tilt), &given);
    }

    /// In space: the hang turned about the line of its picks, the lines' pulls on them. What is
    /// left is the moment that pans.
    #[test]
    fn a_hang_leaning_in_wind_from_the_side_is_in_balance(
        speed in 0.0..60.0f64, tilt in -6.0..6.0f64, two in any::<bool>(), tension in any::<bool>(),
    ) {
        let rigging = if tension { Rigging::Tension } else { Rigging::Compression };
        let hang = hang(rigging, &[1.0, 2.0, 5.0, 2.0]);
        let picks: &[f64] = if two { &[0.0, -0.5] } else { &[-0.3] };
        let mut given = input(speed);
        given.from = From::Side;
        let rest = wind_loads(&hung(&hang, picks, tilt), &given, None).unwrap();
        let splays_deg: Vec<f64> = rest.splay_rad.iter().map(|splay| splay.to_degrees()).collect();
        let placed = place(&hang, &splays_deg, rest.tilt_rad.to_degrees(), 12.0);
        let in_space = |at: Vec2| Vector3::new(at.x, 0.0, at.y);
        let pick = |x: f64| {
            in_space(placed.hinge_m[0] + Rotation2::new(rest.tilt_rad) * Vec2::new(x, 0.22))
        };
        let held: Vec<usize> = (0..picks.len()).filter(|&hoist| !rest.slack[hoist]).collect();
        let first = pick(picks[held[0]]);
        let along = match held[..] {
            [_, second] => Unit::new_normalize(first - pick(picks[second])),
            _ => Vector3::x_axis(),
        };
        let leaning = Rotation3::from_axis_angle(&along, rest.lean_rad);
        let arm = |at: Vec2| leaning * (in_space(at) - first);
        let weight = 9.80665_f64 * (75.0 + 5.0 * 64.0 + 20.0);
        let line = Vector3::new(0.0, -rest.total_n, weight) / weight.hypot(rest.total_n);
        let (mut force, mut moment) = (Vector3::zeros(), Vector3::zeros());
        let mut add = |arm: Vector3<f64>, pull: Vector3<f64>| {
            force += pull;
            moment += arm.cross(&pull);
        };
        for part in &placed.masses {
            add(arm(part.cg_m), Vector3::new(0.0, 0.0, -9.80665 * part.mass_kg));
        }
        for (corners, &wind) in placed.corners_m.iter().zip(&rest.force_n) {
            add(arm(corners.iter().sum::<Vec2>() / 4.0), Vector3::new(0.0, wind, 0.0));
        }
        for (&x, &pull) in picks.iter().zip(&rest.hoist_n) {
            prop_assert!(pull >= 0.0);
            add(pick(x) - first, line * pull);
        }
        let rounding = 1e-10 * weight;
        prop_assert!(force.norm() < rounding);
        prop_assert!((moment - Vector3::z() * rest.pan_moment_nm).norm() < rounding);
    }
}
