//! The vertical plane of a hang.

use nalgebra::Vector2;

/// A point or direction in the vertical plane of the hang, `(x, z)`.
pub type Vec2 = Vector2<f64>;
