//! Geometry, statics and direct sound of flown columns of loudspeakers.
//!
//! One direction of flow: [`model`] → [`pose`] → [`statics`] and [`acoustics`] → [`search`] →
//! the Python face. `statics` stands on [`equilibrium`]. No module imports leftwards; `statics` and
//! `acoustics` never import each other.
//!
//! Signs and units: SI, angles in degrees where a name ends in `_deg` and in radians where it
//! ends in `_rad`. Room axes: x forward from the hang, y left, z up. A body's axis angle is the
//! elevation of its axis, positive aiming up.

pub mod acoustics;
pub mod equilibrium;
pub mod error;
pub mod memory;
pub mod model;
pub mod pose;
#[cfg(feature = "python")]
mod python;
pub mod search;
pub mod statics;
pub mod threads;

pub use error::InputError;
