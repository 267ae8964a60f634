//! What hangs where, and for whom: plain data, checked once on construction.
//!
//! Every type here is data with public fields. [`Valid`] wraps one whose [`Check::check`] has
//! passed; calculations take `&Valid<…>`, so they cannot meet a bad input.

mod air;
mod balloon;
mod blocking;
mod cabinet;
#[cfg(test)]
pub(crate) mod demo;
mod edge;
mod facet;
mod floor;
mod frame;
mod gear;
mod goals;
mod hang;
mod json;
mod off_seats;
mod outline;
mod rigging;
mod rows;
mod site;
mod source;
mod steel;
mod study;
mod surface;
mod tree;
mod venue;

pub use air::Air;
pub use balloon::{Axis, Balloon, LeftOut, Line};
pub use blocking::{Blocker, Blocking, Body, Meeting};
pub use cabinet::{Cabinet, CabinetLimits, SplayPositions};
pub use edge::Edge;
pub use facet::{Facet, Place};
pub(crate) use facet::{between, dot, length, minus};
pub(crate) use frame::MOST_REAR_CORNERS;
pub use frame::{BottomFrame, BottomFrameLimits, FlyFrame, FlyFrameLimits};
pub use gear::{ClosingGear, ClosingGearLimits, HoistEnd};
pub use goals::{Goals, Measure, Over, QuietPlace, SightLine, WantedLevel};
pub(crate) use hang::check_gravity;
pub use hang::{Hang, STANDARD_GRAVITY_M_S2};
#[cfg(feature = "schema")]
pub use json::schema;
pub use json::{Document, from_json, to_json};
pub use off_seats::{OffSeats, OffSeatsKind};
pub use rigging::Rigging;
pub use site::{Neighbour, Site};
pub use source::{LineElement, MOST_GAIN_DB, Source};
pub use steel::{Carrier, Piece, Run};
pub use study::Study;
pub use surface::Surface;
pub use tree::Tree;
pub use venue::{HiddenSeats, Seat, SeatArea, Venue};

use crate::error::Result;
use std::ops::Deref;

/// A point in a body's own frame or in the room's vertical plane: `[x, z]` in metres.
pub type Point = [f64; 2];

/// Data that can tell whether it is within its stated bounds.
pub trait Check {
    /// Accepts the data, or names the first field that is out of bounds.
    ///
    /// # Errors
    /// A field is out of bounds; the error carries its path.
    fn check(&self) -> Result<()>;
}

/// A value whose check has passed. It cannot be changed, so it stays valid.
#[derive(Clone, Debug, PartialEq)]
pub struct Valid<T>(T);

impl<T: Check> Valid<T> {
    /// Checks `value` and wraps it.
    ///
    /// # Errors
    /// As [`Check::check`].
    pub fn new(value: T) -> Result<Self> {
        value.check()?;
        Ok(Self(value))
    }

    /// Gives the data back, free to be changed and checked anew.
    pub fn into_inner(self) -> T {
        self.0
    }
}

impl<T> Deref for Valid<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.0
    }
}

fn check_point(field: &str, point: Point) -> Result<()> {
    crate::error::each(field, &point, crate::error::finite)
}

fn check_limit(field: &str, limit_n: Option<f64>) -> Result<()> {
    limit_n.map_or(Ok(()), |value| {
        crate::error::positive(field, value).map(drop)
    })
}

fn check_parts<T: Check>(field: &str, parts: &[T]) -> Result<()> {
    for (index, part) in parts.iter().enumerate() {
        part.check()
            .map_err(|error| error.within(&format!("{field}[{index}]")))?;
    }
    Ok(())
}
