//! What does a measured cabinet radiate in any direction, at any frequency?
//!
//! D(f, û), the far-field pressure times distance, is known on a grid. Between its points
//!
//! D = L(f) · R(f, û) · e^{−j2πf(τ − **a**·û)}
//!
//! | name | meaning | between the points |
//! |---|---|---|
//! | τ | delay that all directions share | exact |
//! | **a** | advance of the acoustic centre, in seconds | exact |
//! | L | level of the line, root of the mean square over the sphere | its logarithm over ln f |
//! | R | what remains, whose phase turns slowly | as complex numbers |
//!
//! by polynomials through up to six points a direction of the grid ([`stencil`]). So a delay left in
//! makes no holes, the phase is that of the unwrapped one, and a null, where the level of a pressure
//! that changes sign has no bottom, is passed through. Elevations go on beyond the poles and azimuths
//! beyond the full turn. Below the lowest and above the highest frequency, and beyond the end
//! elevations, the nearest value is kept.
//!
//! τ and **a** come from the phases' steps from line to line ([`delay`]).
//!
//! Axes as in AES69-2022: azimuth about z, positive to the left; elevation up; (0, 0) ahead.

mod delay;
mod directivity;
mod grid;
mod left_out;
mod measured;
mod stencil;
mod written;

pub use directivity::{Balloon, Line};
pub use left_out::{Axis, LeftOut};
pub(super) use written::{shared, write};

#[cfg(test)]
mod tests;
