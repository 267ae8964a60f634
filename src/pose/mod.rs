//! Where every body of the hang is, for given tilt, height and joint angles.
//!
//! R(φ) = [[cos φ, −sin φ], [sin φ, cos φ]] turns a body frame by the elevation φ of its axis.
//! φ(frame) = tilt, φ(cabinet 0) = tilt − frame splay, φ(i+1) = φ(i) − splay(i). Each body hangs
//! by its upper front hinge from its upper neighbour's lower front hinge.
//!
//! `mechanism` is the one chain of bodies, `hung` makes it of a hang with the masses of `lumps`;
//! `state` its energy and chain length at any angles,
//! with their derivatives; [`Hanging`] a hang as it hangs and [`placed`] its bodies; `placement` and `throws` take it into
//! the room.

mod hanging;
mod hull;
mod hung;
mod lumps;
pub(crate) mod mechanism;
pub mod placed;
mod placement;
mod plane;
pub(crate) mod rear;
pub(crate) mod state;
pub(crate) mod string;
mod throws;
mod turn;

pub use hanging::Hanging;
pub use hull::{Hull, hulls};
pub use mechanism::TopJoint;
pub(crate) use placed::place;
pub use placed::{PlacedJoint, PlacedMass, Pose, centre_of_gravity};
pub use placement::Placement;
pub use plane::Vec2;
pub use throws::{Met, Throw, seen_from, throws};
