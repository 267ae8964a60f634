//! Cabinets as bodies in space: does one stand in another, or in a surface?
//!
//! A cabinet is the convex body of its corners. Two convex bodies are apart exactly if they are along
//! a normal of a face of one of them or along a direction square to an edge of each.

use super::{Placement, Pose, Vec2};
use crate::model::{Facet, Hang, Place, dot, minus};

/// Bodies that overlap by less than this only touch.
const TOUCH_M: f64 = 1e-3;

/// The convex body of a cabinet.
#[derive(Clone, Debug)]
pub struct Hull {
    /// Upper front, lower front, lower rear, upper rear of the right side, then of the left.
    corners_m: [Place; 8],
    /// Along its edges: front, bottom, rear, top, across.
    edges: [Place; 5],
    /// Square to its faces, outward, each with its distance from the origin along it.
    faces: [(Place, f64); 6],
}

fn cross(a: Place, b: Place) -> Place {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

fn unit(a: Place) -> Option<Place> {
    let size = dot(a, a).sqrt();
    (size > 1e-9).then(|| a.map(|part| part / size))
}

/// The bodies of a hang's cabinets, top to bottom.
#[must_use]
pub fn hulls(hang: &Hang, pose: &Pose, placement: Placement) -> Vec<Hull> {
    let cabinets = hang.cabinets.iter().zip(&pose.corners_m);
    cabinets
        .map(|(cabinet, &corners_m)| Hull::of(corners_m, cabinet.width_m, placement))
        .collect()
}

impl Hull {
    fn of(section_m: [Vec2; 4], width_m: f64, placement: Placement) -> Self {
        let (sin, cos) = placement.pan_rad.sin_cos();
        let leftward = [-sin, cos, 0.0];
        let corners_m = std::array::from_fn(|corner| {
            let side = if corner < 4 { -0.5 } else { 0.5 };
            let middle = placement.point(section_m[corner % 4]);
            [0, 1, 2].map(|axis| middle[axis] + side * width_m * leftward[axis])
        });
        let along = |side: usize| minus(corners_m[(side + 1) % 4], corners_m[side]);
        let around = [0, 1, 2, 3].map(along);
        let mut faces = [(leftward, 0.0); 6];
        for side in 0..4 {
            let normal = unit(cross(around[side], leftward)).unwrap_or([0.0; 3]);
            faces[side] = (normal, dot(normal, corners_m[side]));
        }
        faces[4].1 = dot(leftward, corners_m[4]);
        faces[5] = (leftward.map(|part| -part), -dot(leftward, corners_m[0]));
        let [front, bottom, rear, top] = around;
        Self {
            corners_m,
            edges: [front, bottom, rear, top, leftward],
            faces,
        }
    }

    fn reach(&self, along: Place) -> [f64; 2] {
        let places = self.corners_m.map(|corner| dot(corner, along));
        [
            places.into_iter().fold(f64::INFINITY, f64::min),
            places.into_iter().fold(f64::NEG_INFINITY, f64::max),
        ]
    }

    /// Whether two bodies overlap.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        let apart = |along: Place| {
            let ([low, high], [other_low, other_high]) = (self.reach(along), other.reach(along));
            high - TOUCH_M <= other_low || other_high - TOUCH_M <= low
        };
        let faces = self.faces.iter().chain(&other.faces).map(|face| face.0);
        let pairs = self
            .edges
            .iter()
            .flat_map(|&a| other.edges.map(|b| cross(a, b)));
        !faces.chain(pairs).filter_map(unit).any(apart)
    }

    /// Whether a facet goes through the body.
    #[must_use]
    pub fn meets(&self, facet: &Facet) -> bool {
        let heights = self.corners_m.map(|corner| facet.height_m(corner));
        if heights.iter().all(|&h| h >= -TOUCH_M) || heights.iter().all(|&h| h <= TOUCH_M) {
            return false;
        }
        let ring = |from: usize| (0..4).map(move |at| [from + at, from + (at + 1) % 4]);
        let across = (0..4).map(|at| [at, at + 4]);
        let mut edges = ring(0).chain(ring(4)).chain(across);
        edges.any(|[a, b]| {
            facet
                .crossing(self.corners_m[a], self.corners_m[b])
                .is_some()
        }) || facet.sides().any(|[a, b]| self.is_entered(a, b))
    }

    /// Whether a segment goes through the body.
    fn is_entered(&self, from_m: Place, to_m: Place) -> bool {
        let (mut enter, mut leave) = (0.0f64, 1.0f64);
        for &(normal, offset) in &self.faces {
            let (before, after) = (dot(normal, from_m) - offset, dot(normal, to_m) - offset);
            let (before, after) = (before + TOUCH_M, after + TOUCH_M);
            if before > 0.0 && after > 0.0 {
                return false;
            }
            if before > 0.0 {
                enter = enter.max(before / (before - after));
            } else if after > 0.0 {
                leave = leave.min(before / (before - after));
            }
        }
        enter < leave
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn hull(x_m: f64, y_m: f64, pan_deg: f64) -> Hull {
        wide(1.0, x_m, y_m, pan_deg)
    }

    fn wide(width_m: f64, x_m: f64, y_m: f64, pan_deg: f64) -> Hull {
        let corners = [[0.0, 1.0], [0.0, 0.6], [-0.6, 0.65], [-0.6, 0.95]].map(Vec2::from);
        let placement = Placement {
            x_m,
            y_m,
            pan_rad: pan_deg.to_radians(),
        };
        Hull::of(corners, width_m, placement)
    }

    #[test]
    fn bodies_overlap_where_they_do() {
        let here = hull(0.0, 0.0, 0.0);
        assert!(here.overlaps(&hull(0.3, 0.4, 30.0)));
        assert!(!here.overlaps(&hull(0.0, 1.0, 0.0)));
        // Turned by 45°, a corner reaches out 0.71 m, but not in the direction of the other's face.
        assert!(here.overlaps(&hull(0.0, 1.1, 45.0)));
        assert!(!here.overlaps(&hull(0.75, 1.0, 45.0)));
    }

    proptest! {
        /// Square to both, and as large as Lagrange's identity has it: |a×b|² + (a·b)² = |a|²|b|².
        #[test]
        fn a_cross_product_is_square_to_both(
            a in prop::array::uniform3(-5.0..5.0f64),
            b in prop::array::uniform3(-5.0..5.0f64),
        ) {
            let found = cross(a, b);
            prop_assert!(dot(found, a).abs() < 1e-12 * 125.0);
            prop_assert!(dot(found, b).abs() < 1e-12 * 125.0);
            let identity = dot(found, found) + dot(a, b).powi(2) - dot(a, a) * dot(b, b);
            prop_assert!(identity.abs() < 1e-12 * 5625.0);
        }

        /// A body moved along a face's normal overlaps until it has gone by what both reach there.
        #[test]
        fn bodies_part_where_their_sides_have_passed(
            along_m in -3.0..3.0f64,
            pan_deg in -180.0..180.0f64,
            width_m in 0.5..2.0f64,
        ) {
            let here = wide(width_m, 0.0, 0.0, pan_deg);
            let (sin, cos) = pan_deg.to_radians().sin_cos();
            let aside = wide(width_m, -along_m * sin, along_m * cos, pan_deg);
            prop_assume!((along_m.abs() - width_m).abs() > 2.0 * TOUCH_M);
            prop_assert_eq!(here.overlaps(&aside), along_m.abs() < width_m);
            let ahead = wide(width_m, along_m * cos, along_m * sin, pan_deg);
            prop_assume!((along_m.abs() - 0.6).abs() > 2.0 * TOUCH_M);
            prop_assert_eq!(here.overlaps(&ahead), along_m.abs() < 0.6);
        }
    }

    #[test]
    fn a_wall_or_its_end_in_a_body_is_found() {
        let here = hull(0.0, 0.0, 0.0);
        let wall = |y0: f64, y1: f64| {
            let corners = vec![
                [-0.3, y0, -9.0],
                [-0.3, y1, -9.0],
                [-0.3, y1, 9.0],
                [-0.3, y0, 9.0],
            ];
            Facet::new(corners).unwrap()
        };
        assert!(here.meets(&wall(-9.0, 9.0)));
        assert!(here.meets(&wall(-0.1, 0.1)));
        assert!(here.meets(&wall(0.2, 9.0)));
        assert!(!here.meets(&wall(0.6, 9.0)));
        assert!(here.meets(&wall(-9.0, -0.2)));
        assert!(!here.meets(&wall(-9.0, -0.6)));
    }
}
