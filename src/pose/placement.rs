//! From the vertical plane of a hang into the room.

use super::Vec2;

/// Where a hang's vertical plane stands in the room: a point on the floor plan and a pan about z,
/// positive turning left.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Placement {
    /// Forward offset.
    pub x_m: f64,
    /// Offset to the left.
    pub y_m: f64,
    /// Pan about z.
    pub pan_rad: f64,
}

impl Placement {
    /// A point of the hang's plane in room axes.
    #[must_use]
    pub fn point(&self, point: Vec2) -> [f64; 3] {
        let [dx, dy, dz] = self.direction(point);
        [self.x_m + dx, self.y_m + dy, dz]
    }

    /// A point of the room seen square to the hang's plane, in it.
    #[must_use]
    pub fn in_plane(&self, point: [f64; 3]) -> Vec2 {
        let (sin, cos) = self.pan_rad.sin_cos();
        let ahead = (point[0] - self.x_m) * cos + (point[1] - self.y_m) * sin;
        Vec2::new(ahead, point[2])
    }

    /// A direction in the hang's plane in room axes.
    #[must_use]
    pub fn direction(&self, direction: Vec2) -> [f64; 3] {
        [
            direction.x * self.pan_rad.cos(),
            direction.x * self.pan_rad.sin(),
            direction.y,
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Into the room and back, also from a place aside of the plane.
        #[test]
        fn a_point_seen_square_to_the_plane_is_itself(
            place in prop::array::uniform2(-20.0..20.0f64),
            pan_rad in -3.0..3.0f64,
            point in prop::array::uniform2(-9.0..9.0f64),
            aside_m in -9.0..9.0f64,
        ) {
            let placement = Placement { x_m: place[0], y_m: place[1], pan_rad };
            let [x, y, z] = placement.point(Vec2::from(point));
            let seen = placement.in_plane([
                x - aside_m * pan_rad.sin(),
                y + aside_m * pan_rad.cos(),
                z,
            ]);
            prop_assert!((seen - Vec2::from(point)).norm() < 1e-12 * 100.0);
        }
    }
}
