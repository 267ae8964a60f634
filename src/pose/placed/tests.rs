use super::*;
use crate::model::Cabinet;
use crate::model::{FlyFrame, FlyFrameLimits, Rigging, SplayPositions};
use approx::assert_relative_eq;
use nalgebra::Rotation2;
use proptest::prelude::*;

fn cabinet() -> Cabinet {
    Cabinet {
        name: "demo data".into(),
        mass_kg: 64.0,
        height_m: 0.36,
        depth_m: 0.55,
        width_m: 1.1,
        cg_m: [-0.25, 0.01],
        hinge_x_m: -0.02,
        rear_pin_x_m: -0.5,
        rear_pin_inset_m: 0.05,
        rear_height_m: None,
        splay_positions_deg: SplayPositions::both(&[0.0, 1.0, 2.0, 5.0, 10.0]),
        source: None,
        limits: Default::default(),
    }
}

fn hang(splays_deg: Vec<f64>) -> Valid<Hang> {
    Valid::new(Hang {
        frame: FlyFrame {
            mass_kg: 60.0,
            height_m: 0.2,
            cg_m: [-0.3, 0.1],
            pick_x_m: vec![0.0, -0.4],
            pick_z_m: 0.25,
            chain_anchor_m: None,
            rear_pin_m: None,
            rear_outline_m: Vec::new(),
            limits: FlyFrameLimits::default(),
        },
        cabinets: vec![cabinet(); splays_deg.len() + 1],
        splays_deg,
        rigging: Rigging::Tension,
        bottom: None,
        gear: None,
        open_limit_deg: -2.0,
        frame_splay_deg: 0.0,
        gravity_m_s2: 9.80665,
        pieces: Vec::new(),
        runs: Vec::new(),
    })
    .unwrap()
}

#[test]
fn a_straight_level_hang_stands_plumb() {
    let pose = pose(&hang(vec![0.0, 0.0]), 0.0, 10.0).unwrap();
    assert_relative_eq!(pose.trim_m, 10.0 - 3.0 * 0.36, max_relative = 1e-14);
    for hinge in &pose.hinge_m {
        assert_relative_eq!(hinge.x, 0.0, epsilon = 1e-14);
    }
    assert_relative_eq!(pose.mass_kg, 60.0 + 3.0 * 64.0);
}

#[test]
fn splay_aims_lower_cabinets_further_down() {
    let pose = pose(&hang(vec![5.0, 10.0]), 3.0, 0.0).unwrap();
    let deg: Vec<f64> = pose.axis_rad.iter().map(|a| a.to_degrees()).collect();
    assert_relative_eq!(deg[0], 3.0, epsilon = 1e-12);
    assert_relative_eq!(deg[1], -2.0, epsilon = 1e-12);
    assert_relative_eq!(deg[2], -12.0, epsilon = 1e-12);
    assert!(pose.hinge_m[3].x < pose.hinge_m[2].x);
}

#[test]
fn splay_brings_the_rear_pins_of_a_joint_together() {
    let gap = |splay: f64| {
        let joint = pose(&hang(vec![splay]), 0.0, 0.0).unwrap().joints[1];
        (joint.upper_pin_m - joint.lower_pin_m).norm()
    };
    assert_relative_eq!(gap(0.0), 0.1, max_relative = 1e-12);
    assert!(gap(5.0) < gap(2.0) && gap(2.0) < gap(0.0));
}

#[test]
fn a_tilt_that_is_not_a_number_is_refused() {
    let error = pose(&hang(vec![0.0]), f64::NAN, 0.0).unwrap_err();
    assert_eq!(error.field, "tilt_deg");
}

proptest! {
    /// Tilting the frame turns the whole hang about the upper front hinge of cabinet 0.
    #[test]
    fn tilt_is_a_rigid_turn(tilt in -30.0..30.0f64, a in 0usize..5, b in 0usize..5) {
        let positions = [0.0, 1.0, 2.0, 5.0, 10.0];
        let hang = hang(vec![positions[a], positions[b]]);
        let level = pose(&hang, 0.0, 0.0).unwrap();
        let tilted = pose(&hang, tilt, 0.0).unwrap();
        let turn = Rotation2::new(tilt.to_radians());
        for (before, after) in level.masses.iter().zip(&tilted.masses) {
            prop_assert!((turn * before.cg_m - after.cg_m).norm() < 1e-13);
        }
        prop_assert!((turn * level.cg_m - tilted.cg_m).norm() < 1e-13);
    }
}
