//! What do the links and hinges carry when every joint is held at its pin?
//!
//! Cut joint j. Below it hang the weight W with its centre of gravity at lever a behind the front
//! hinge H. The rear link is pin-ended, so its force N lies along the line of its pins, tension
//! positive: moments about H give W a + N (L − H) × u = 0, with L the lower pin, u the unit vector
//! from the lower to the upper pin and × the plane cross product. The hinge carries the rest,
//! F = (0, W) − N u, as a force on the body below.
//!
//! Source: method of sections, any statics textbook.

use crate::equilibrium::tolerances::NO_LEVER;
use crate::error::{InputError, Result};
use crate::pose::{Hanging, PlacedJoint, Pose, Vec2, centre_of_gravity};

/// A link whose line passes the hinge closer than this carries no moment.
const LEAST_LEVER_M: f64 = 1e-6;

/// Forces at every joint, top to bottom, fixed joints included.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JointLoads {
    /// Weight hung below the joint.
    pub weight_n: Vec<f64>,
    /// Moment of that weight about the front hinge; positive opens the rear.
    pub moment_nm: Vec<f64>,
    /// Force of the rear link; tension positive.
    pub rear_link_n: Vec<f64>,
    /// Force of the hinge on the body below, `(x, z)`.
    pub hinge_force_n: Vec<Vec2>,
}

/// Joint forces of the hang at a held tilt, links carrying tension and compression alike, with no
/// closing chain.
///
/// # Errors
/// The tilt is out of range, or a link's line passes so near its hinge that it would carry
/// [`NO_LEVER`] times the weight.
pub fn joint_loads(hanging: &Hanging<'_>) -> Result<JointLoads> {
    joint_loads_of(&hanging.pose()?)
}

/// Joint forces of a pose.
///
/// # Errors
/// A link's line passes through its hinge.
pub fn joint_loads_of(pose: &Pose) -> Result<JointLoads> {
    let mut loads = JointLoads::default();
    for (index, joint) in pose.joints.iter().enumerate() {
        let below = &pose.masses[index + 1..];
        let weight_n = below.iter().map(|body| body.mass_kg).sum::<f64>() * pose.gravity_m_s2;
        // A massless bottom frame has no centre of gravity and no moment.
        let lever_m = if weight_n > 0.0 {
            joint.hinge_m.x - centre_of_gravity(below).x
        } else {
            0.0
        };
        let holds =
            |&(_, link_lever_m): &(Vec2, f64)| lever_m.abs() <= NO_LEVER * link_lever_m.abs();
        let line = link_line(joint).filter(holds);
        let (direction, link_lever_m) = line.ok_or_else(|| {
            InputError::new(
                &format!("joint {index}"),
                "a rear link in line with its hinge",
                "a rear link that passes the hinge at a distance",
            )
        })?;
        let rear_link_n = weight_n * lever_m / link_lever_m;
        loads.weight_n.push(weight_n);
        loads.moment_nm.push(weight_n * lever_m);
        loads.rear_link_n.push(rear_link_n);
        loads
            .hinge_force_n
            .push(Vec2::new(0.0, weight_n) - direction * rear_link_n);
    }
    Ok(loads)
}

/// Unit vector from the lower to the upper pin, and the lever of the link about the hinge,
/// positive for a link behind the hinge. Pins that coincide carry the least force that holds the
/// moment, square to the arm.
pub(crate) fn link_line(joint: &PlacedJoint) -> Option<(Vec2, f64)> {
    let arm = joint.lower_pin_m - joint.hinge_m;
    let direction = (joint.upper_pin_m - joint.lower_pin_m)
        .try_normalize(LEAST_LEVER_M)
        .or_else(|| Vec2::new(arm.y, -arm.x).try_normalize(LEAST_LEVER_M))?;
    let lever_m = -arm.perp(&direction);
    (lever_m.abs() > LEAST_LEVER_M).then_some((direction, lever_m))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn joint(upper_pin_m: Vec2, lower_pin_m: Vec2) -> PlacedJoint {
        PlacedJoint {
            hinge_m: Vec2::zeros(),
            upper_pin_m,
            lower_pin_m,
        }
    }

    #[test]
    fn a_plumb_link_behind_the_hinge_has_its_distance_for_lever() {
        let (line, lever_m) =
            link_line(&joint(Vec2::new(-0.5, 0.1), Vec2::new(-0.5, -0.1))).unwrap();
        assert_relative_eq!(line, Vec2::y());
        assert_relative_eq!(lever_m, 0.5);
        let (_, lever_m) = link_line(&joint(Vec2::new(0.5, 0.1), Vec2::new(0.5, -0.1))).unwrap();
        assert_relative_eq!(lever_m, -0.5);
    }

    #[test]
    fn pins_in_one_place_pull_square_to_the_arm() {
        let pin = Vec2::new(-0.5, -0.2);
        let (line, lever_m) = link_line(&joint(pin, pin)).unwrap();
        assert_relative_eq!(line.dot(&pin), 0.0, epsilon = 1e-15);
        assert_relative_eq!(line.norm(), 1.0);
        assert_relative_eq!(lever_m, pin.norm());
    }

    #[test]
    fn a_link_through_its_hinge_has_no_line() {
        assert!(link_line(&joint(Vec2::new(0.0, 0.1), Vec2::new(0.0, -0.1))).is_none());
        assert!(link_line(&joint(Vec2::zeros(), Vec2::zeros())).is_none());
    }
}
