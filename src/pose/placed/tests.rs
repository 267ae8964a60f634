use super::*;

use crate::model::{Cabinet, Valid, demo};
use crate::pose::Hanging;
use approx::assert_relative_eq;
use nalgebra::Rotation2;
use proptest::prelude::*;

fn cabinet() -> Cabinet {
    Cabinet {
        hinge_x_m: -0.02,
        ..demo::cabinet()
    }
}

fn hang(splays_deg: Vec<f64>) -> Valid<Hang> {
    Valid::new(demo::hang(cabinet(), &splays_deg)).unwrap()
}

#[test]
fn a_straight_level_hang_stands_plumb() {
    let pose = Hanging::at(&hang(vec![0.0, 0.0]), 0.0)
        .top(10.0)
        .pose()
        .unwrap();
    assert_relative_eq!(pose.trim_m, 10.0 - 3.0 * 0.36, max_relative = 1e-14);
    for hinge in &pose.hinge_m {
        assert_relative_eq!(hinge.x, 0.0, epsilon = 1e-14);
    }
    assert_relative_eq!(pose.mass_kg, 60.0 + 3.0 * 64.0);
}

#[test]
fn splay_aims_lower_cabinets_further_down() {
    let pose = Hanging::at(&hang(vec![5.0, 10.0]), 3.0).pose().unwrap();
    let deg: Vec<f64> = pose.axis_rad.iter().map(|a| a.to_degrees()).collect();
    assert_relative_eq!(deg[0], 3.0, epsilon = 1e-12);
    assert_relative_eq!(deg[1], -2.0, epsilon = 1e-12);
    assert_relative_eq!(deg[2], -12.0, epsilon = 1e-12);
    assert!(pose.hinge_m[3].x < pose.hinge_m[2].x);
}

#[test]
fn splay_brings_the_rear_pins_of_a_joint_together() {
    let gap = |splay: f64| {
        let joint = Hanging::at(&hang(vec![splay]), 0.0).pose().unwrap().joints[1];
        (joint.upper_pin_m - joint.lower_pin_m).norm()
    };
    assert_relative_eq!(gap(0.0), 0.1, max_relative = 1e-12);
    assert!(gap(5.0) < gap(2.0) && gap(2.0) < gap(0.0));
}

#[test]
fn a_tilt_that_is_not_a_number_is_refused() {
    let error = Hanging::at(&hang(vec![0.0]), f64::NAN).pose().unwrap_err();
    assert_eq!(error.field, "tilt_deg");
}

proptest! {
    /// Tilting the frame turns the whole hang about the upper front hinge of cabinet 0.
    #[test]
    fn tilt_is_a_rigid_turn(tilt in -30.0..30.0f64, a in 0usize..5, b in 0usize..5) {
        let positions = [0.0, 1.0, 2.0, 5.0, 10.0];
        let hang = hang(vec![positions[a], positions[b]]);
        let level = Hanging::at(&hang, 0.0).pose().unwrap();
        let tilted = Hanging::at(&hang, tilt).pose().unwrap();
        let turn = Rotation2::new(tilt.to_radians());
        for (before, after) in level.masses.iter().zip(&tilted.masses) {
            prop_assert!((turn * before.cg_m - after.cg_m).norm() < 1e-13);
        }
        prop_assert!((turn * level.cg_m - tilted.cg_m).norm() < 1e-13);
    }
}
