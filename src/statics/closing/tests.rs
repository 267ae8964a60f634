use super::*;
use crate::equilibrium::{Hold, largest, newton, rests_at};
use crate::model::{
    BottomFrame, Cabinet, ClosingGear, FlyFrame, Hang, Rigging, SplayPositions, Valid,
};
use crate::pose::mechanism::Mechanism;
use crate::pose::state::State;
use crate::pose::{Hanging, TopJoint};
use approx::assert_relative_eq;
use proptest::prelude::*;
use solver::stiffness;

fn cabinet(mass_kg: f64) -> Cabinet {
    Cabinet {
        name: "demo data".into(),
        mass_kg,
        height_m: 0.36,
        depth_m: 0.58,
        width_m: 1.15,
        cg_m: [-0.27, 0.0],
        hinge_x_m: 0.0,
        rear_pin_x_m: -0.5,
        rear_pin_inset_m: 0.05,
        rear_height_m: Some(0.30),
        splay_positions_deg: SplayPositions::both(&[0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0]),
        source: None,
        limits: Default::default(),
    }
}

fn hang(masses_kg: &[f64], splays_deg: &[f64]) -> Hang {
    Hang {
        frame: FlyFrame {
            mass_kg: 75.0,
            height_m: 0.25,
            cg_m: [-0.35, 0.12],
            pick_x_m: vec![0.1, -0.7],
            pick_z_m: 0.22,
            chain_anchor_m: Some([-0.75, 0.05]),
            rear_pin_m: None,
            rear_outline_m: Vec::new(),
            limits: Default::default(),
        },
        cabinets: masses_kg.iter().map(|&mass| cabinet(mass)).collect(),
        splays_deg: splays_deg.to_vec(),
        rigging: Rigging::Compression,
        bottom: Some(BottomFrame {
            mass_kg: 22.0,
            cg_m: [-0.35, -0.08],
            chain_anchor_m: Some([-0.7, -0.05]),
            fixed_splay_deg: 0.0,
            rear_pin_m: None,
            rear_outline_m: Vec::new(),
            limits: Default::default(),
        }),
        gear: Some(ClosingGear {
            pitch_m: 0.03,
            links: 300,
            hoist_min_m: 0.4,
            hoist_max_m: 1.9,
            clutch_n: Some([12_000.0, 16_000.0]),
            chain_mass_kg_m: 0.0,
            hoist_mass_kg: 0.0,
            bypass_mass_kg: 0.0,
            hoist_end: Default::default(),
            limits: Default::default(),
        }),
        open_limit_deg: -2.0,
        frame_splay_deg: 0.0,
        gravity_m_s2: 9.80665,
        pieces: Vec::new(),
        runs: Vec::new(),
    }
}

fn valid(hang: Hang) -> Valid<Hang> {
    Valid::new(hang).unwrap()
}

fn quick(hang: &Valid<Hang>, tilt_deg: f64) -> Closing {
    let options = ClosingOptions {
        steps: 40,
        ..Default::default()
    };
    close(&Hanging::at(hang, tilt_deg), &options).unwrap()
}

#[test]
fn the_quick_force_is_the_force_of_the_whole_path() {
    let splays = [0.0, 1.0, 2.0, 4.0, 6.0];
    let hang = valid(hang(&[64.0; 6], &splays));
    for tilt in [-8.0, 0.0, 8.0] {
        let closing = quick(&hang, tilt);
        assert_eq!(closing.end, ClosingEnd::Closed);
        let force = closing_force(&hang, &splays, tilt).unwrap();
        assert_eq!(Some(force.force_n), closing.closing_force_n());
        assert_relative_eq!(
            force.force_n,
            *closing.path.force_n.last().unwrap(),
            max_relative = 1e-9
        );
    }
}

#[test]
fn one_cabinet_is_closed_without_a_chain_force() {
    let closing = quick(&valid(hang(&[64.0], &[])), -5.0);
    assert_eq!(closing.end, ClosingEnd::Closed);
    assert_eq!(closing.closing_force_n(), Some(0.0));
    assert_eq!(closing.governing_joint(), None);
    assert!(closing.order.is_empty());
}

#[test]
fn a_chain_with_no_lever_on_an_opening_joint_is_a_state_not_a_number() {
    let mut front = hang(&[64.0; 3], &[1.0, 2.0]);
    front.frame.chain_anchor_m = Some([0.3, -0.2]);
    let options = ClosingOptions {
        top_joint: TopJoint::Stop,
        ..Default::default()
    };
    let closing = close(&Hanging::at(&valid(front), 0.0), &options).unwrap();
    assert_eq!(closing.closed, ClosedState::NoLever { joint: 0 });
    assert_eq!(closing.closing_force_n(), None);
    assert_ne!(closing.end, ClosingEnd::Closed);
    assert_eq!(closing.clutch, ClutchVerdict::NoForceCloses);
}

#[test]
fn derivatives_are_the_slopes_of_finite_differences() {
    let hang = hang(&[64.0, 40.0, 90.0, 64.0], &[1.0, 2.0, 3.0]);
    let mechanism = Mechanism::new(&hang, &hang.splays_deg, 0.05, TopJoint::Stop).unwrap();
    let base: Vec<f64> = vec![-0.01, -0.02, 0.01, -0.015, 0.0];
    let step = 1e-6;
    for joint in 0..base.len() {
        let at = |change: f64| {
            let mut angles = base.clone();
            angles[joint] += change;
            State::at(&mechanism, &angles)
        };
        let (low, middle, high) = (at(-step), at(0.0), at(step));
        let slope = |of: fn(&State) -> f64| (of(&high) - of(&low)) / (2.0 * step);
        assert_relative_eq!(
            middle.load_nm[joint],
            slope(|s| s.energy_j),
            max_relative = 1e-7,
            epsilon = 1e-5
        );
        assert_relative_eq!(
            middle.lever_m[joint],
            slope(|s| s.chain_m),
            max_relative = 1e-7
        );
        for other in 0..base.len() {
            let curvature =
                (high.slope_nm(other, 900.0) - low.slope_nm(other, 900.0)) / (2.0 * step);
            assert_relative_eq!(
                middle.curvature_nm(joint, other, 900.0),
                curvature,
                max_relative = 1e-6,
                epsilon = 1e-4
            );
        }
    }
}

fn any_hang() -> impl Strategy<Value = (Vec<f64>, Vec<f64>, f64)> {
    let positions = prop::sample::select(vec![0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0]);
    (2usize..12).prop_flat_map(move |count| {
        (
            prop::collection::vec(30.0..110.0f64, count),
            prop::collection::vec(positions.clone(), count - 1),
            -12.0..10.0f64,
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 32, ..ProptestConfig::default() })]

    #[test]
    fn scaling_all_masses_scales_the_forces((masses, splays, tilt) in any_hang(), scale in 0.2..5.0f64) {
        let light = valid(hang(&masses, &splays));
        let mut heavy = light.clone().into_inner();
        heavy.frame.mass_kg *= scale;
        for cabinet in &mut heavy.cabinets {
            cabinet.mass_kg *= scale;
        }
        if let Some(bottom) = &mut heavy.bottom {
            bottom.mass_kg *= scale;
        }
        let (light, heavy) = (quick(&light, tilt), quick(&valid(heavy), tilt));
        prop_assert_eq!(light.end, ClosingEnd::Closed);
        prop_assert!(light.residual < crate::equilibrium::tolerances::AT_REST);
        prop_assert_eq!(&light.order, &heavy.order);
        let (a, b) = (light.closing_force_n().unwrap(), heavy.closing_force_n().unwrap());
        prop_assert!((b - scale * a).abs() <= 1e-10 * b);
        prop_assert!((light.chain_free_m - heavy.chain_free_m).abs() < 1e-10);
        for (a, b) in light.at_closing.unwrap().hinge_force_n.iter().zip(&heavy.at_closing.unwrap().hinge_force_n) {
            prop_assert!((b - a * scale).norm() <= 1e-9 * b.norm().max(1.0));
        }
    }

    /// Moving every body-frame point of all bodies forward by the same way moves the hang.
    #[test]
    fn shifting_the_hang_changes_nothing((masses, splays, tilt) in any_hang(), shift in -0.5..0.5f64) {
        let here = valid(hang(&masses, &splays));
        let mut there = here.clone().into_inner();
        for cabinet in &mut there.cabinets {
            cabinet.hinge_x_m += shift;
            cabinet.rear_pin_x_m += shift;
            cabinet.cg_m[0] += shift;
            cabinet.depth_m -= shift;
        }
        // With its hinge far before its front a box may reach into its neighbour.
        let there = Valid::new(there);
        prop_assume!(there.is_ok());
        let there = there.unwrap();
        let (here, there) = (quick(&here, tilt), quick(&there, tilt));
        prop_assert_eq!(here.order, there.order);
        let (a, b) = (here.path.force_n.last().unwrap(), there.path.force_n.last().unwrap());
        prop_assert!((a - b).abs() <= 1e-9 * a.abs().max(1.0));
        prop_assert!((here.chain_free_m - there.chain_free_m).abs() < 1e-10);
    }

    #[test]
    fn the_closing_force_is_not_below_the_governing_straight_line_analysis((masses, splays, tilt) in any_hang()) {
        let closing = quick(&valid(hang(&masses, &splays)), tilt);
        let inner = 1..masses.len();
        let governing = closing.straight_line_force_n[inner].iter().copied().fold(0.0, f64::max);
        let force = closing.closing_force_n().unwrap();
        prop_assert!(force >= governing * (1.0 - 1e-12));
        prop_assert!((closing.peak_force_n - force).abs() <= 1e-9 * force.max(1.0));
    }

    #[test]
    fn more_chain_force_never_opens_a_closed_joint((masses, splays, tilt) in any_hang(), preload in 0.0..20_000.0f64) {
        let hang = valid(hang(&masses, &splays));
        let options = ClosingOptions { preload_n: preload, steps: 20, ..Default::default() };
        let closing = close(&Hanging::at(&hang, tilt), &options).unwrap();
        let closed = closing.at_closing.unwrap();
        let pressed = closing.at_preload.unwrap();
        for joint in 1..masses.len() {
            prop_assert!(closed.contact_moment_nm[joint] >= -1e-6);
            prop_assert!(pressed.contact_moment_nm[joint] >= closed.contact_moment_nm[joint] - 1e-6);
        }
        let force = closing.closed.force_n().unwrap() + preload;
        let rest = rest_at_force(&Hanging::at(&hang, tilt), force + 1.0, TopJoint::Locked).unwrap();
        for (joint, angle) in rest.angle_rad[1..masses.len()].iter().enumerate() {
            prop_assert_eq!(*angle, splays[joint].to_radians());
        }
    }

    /// The quick factors against the dense ones, at any angles, contacts and force, balanced or not.
    #[test]
    fn quick_steps_are_those_of_the_whole_matrix(
        (masses, splays, tilt) in any_hang(),
        shares in prop::collection::vec(0.0..1.0f64, 12),
        force_n in -2_000.0..30_000.0f64,
    ) {
        let hang = hang(&masses, &splays);
        let mechanism = Mechanism::new(&hang, &splays, tilt.to_radians(), TopJoint::Stop).unwrap();
        let angles: Vec<f64> = mechanism
            .travels
            .iter()
            .zip(shares.iter().cycle())
            .map(|(travel, share)| {
                // A third each open, free and on the stop.
                let share = (3.0 * share - 1.0).clamp(0.0, 1.0);
                travel.open_rad + share * (travel.stop_rad - travel.open_rad)
            })
            .collect();
        let state = State::at(&mechanism, &angles);
        let rests = rests_at(&mechanism, &angles);
        let target_m = state.chain_m - 1e-3;
        let dense = newton::step(&state, &rests, Hold::Length(target_m), force_n, 0.0);
        let mut quick = stiffness::Stiffness::default();
        let stable = quick.factor(&state, &rests, force_n).is_ok();
        prop_assert_eq!(stable, dense.is_ok());
        if let Ok(dense) = dense {
            let (mut along, mut change) = (vec![0.0; angles.len()], vec![0.0; angles.len()]);
            let along_n = quick.follow(&mut along);
            let change_n = quick.relax(|joint| state.slope_nm(joint, force_n), &mut change);
            let scale = largest(&dense.change).max(1.0);
            for joint in 0..angles.len() {
                let turned = change[joint] - 1e-3 * along[joint];
                prop_assert!((turned - dense.change[joint]).abs() < 1e-7 * scale);
            }
            let force = force_n + change_n - 1e-3 * along_n;
            prop_assert!((force - dense.force).abs() < 1e-7 * (dense.force.abs() + 1e4 * scale));
        }
    }

    /// The hang upside down in a horizontal mirror, bottom frame held and fly frame below.
    ///
    /// A mirror with a vertical plane would put the rear in front, where the mechanism has no room
    /// for it: a string runs behind the cabinets only, and a stop is a joint's upper bound. In a
    /// horizontal mirror the rear stays behind; the joints' angles change sign, and once more as
    /// they are now counted from below.
    #[test]
    fn the_hang_in_a_horizontal_mirror_has_the_same_chain((masses, splays, tilt) in any_hang(), share in 0.0..1.0f64) {
        let hang = hang(&masses, &splays);
        let upright = Mechanism::new(&hang, &splays, tilt.to_radians(), TopJoint::Stop).unwrap();
        let angles: Vec<f64> = upright
            .travels
            .iter()
            .map(|travel| travel.open_rad + share * (travel.stop_rad - travel.open_rad))
            .collect();
        let image = mirrored(&upright, &angles);
        let mirrored_angles: Vec<f64> = angles.iter().rev().copied().collect();
        let (one, other) = (
            State::at(&upright, &angles),
            State::at(&image, &mirrored_angles),
        );
        prop_assert!((one.chain_m - other.chain_m).abs() < 1e-12);
        prop_assert_eq!(one.string.len(), other.string.len());
        let joints = angles.len();
        let frame = &upright.bodies[0];
        let mass_kg = one.below_kg[0] + frame.mass_kg;
        let moment_x = one.below_moment[0].x + (one.point(0, frame.cg_m) * frame.mass_kg).x;
        for joint in 0..joints {
            let image_joint = joints - 1 - joint;
            prop_assert!((one.lever_m[joint] - other.lever_m[image_joint]).abs() < 1e-12);
            prop_assert!((one.direction[joint].x + other.direction[image_joint].x).abs() < 1e-12);
            prop_assert!((one.direction[joint].y - other.direction[image_joint].y).abs() < 1e-12);
            for second in 0..joints {
                let bend = |state: &State, a, b| {
                    state.curvature_nm(a, b, 1.0) - state.curvature_nm(a, b, 0.0)
                };
                let gap = bend(&one, joint, second) - bend(&other, image_joint, joints - 1 - second);
                prop_assert!(gap.abs() < 1e-9);
            }
            // What hangs below the joint in one hangs above it in the other: together, everything.
            let everything = 9.80665 * (mass_kg * one.hinge_m(joint).x - moment_x);
            let sum = one.load_nm[joint] + other.load_nm[image_joint];
            prop_assert!((sum - everything).abs() < 1e-8);
        }
    }
}

/// The mechanism in a horizontal mirror, its bodies from the lowest up.
fn mirrored(upright: &Mechanism, angles_rad: &[f64]) -> Mechanism {
    use crate::pose::Vec2;
    use crate::pose::rear::RearEdges;
    let bodies = upright
        .bodies
        .iter()
        .rev()
        .map(|body| {
            let image = |point: Vec2| {
                let from_lower = point - body.lower_hinge_m;
                Vec2::new(from_lower.x, -from_lower.y)
            };
            crate::pose::mechanism::Body {
                mass_kg: body.mass_kg,
                cg_m: image(body.cg_m),
                push_n: Vec2::zeros(),
                push_at_m: Vec2::zeros(),
                lower_hinge_m: image(Vec2::zeros()),
                rear_edges_m: match *body.rear_edges_m.places() {
                    [upper, lower] => RearEdges::of([image(lower), image(upper)]),
                    _ => RearEdges::default(),
                },
                rear_pins_m: {
                    let [upper, lower] = body.rear_pins_m;
                    [image(lower), image(upper)]
                },
            }
        })
        .collect();
    let flat = |point: Vec2| Vec2::new(point.x, -point.y);
    let lowest_rad = upright.base_rad - angles_rad.iter().sum::<f64>();
    Mechanism {
        gravity_m_s2: 9.80665,
        bodies,
        travels: upright.travels.iter().rev().copied().collect(),
        hooks: 0,
        upper_anchor_m: flat(upright.lower_anchor_m),
        lower_anchor_m: flat(upright.upper_anchor_m),
        base_rad: -lowest_rad,
    }
}
