//! The vertical plane of a hang.

use nalgebra::Vector2;

/// A point or direction in the vertical plane of the hang, `(x, z)`.
pub type Vec2 = Vector2<f64>;

/// Standard acceleration of free fall (ISO 80000-3:2019, annex C).
pub const GRAVITY_M_S2: f64 = 9.80665;
