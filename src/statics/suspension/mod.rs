//! What lies between the fly frame and the roof: bridles, heavy chain, beams, and a rigid frame on
//! many hoists.

pub mod beam;
pub mod beam_curve;
pub mod beam_limits;
mod beam_part;
pub mod beam_segment;
pub mod bridle;
pub mod bridle_steel;
pub mod catenary;
pub mod hoisting;
pub mod pan;
pub mod rigid_hang;
pub mod scatter;
