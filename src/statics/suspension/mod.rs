//! What lies between the fly frame and the roof: bridles, heavy chain, beams, a rigid frame on
//! many hoists, and lines that stretch, lead off plumb, are out of step or fail.

pub mod beam;
pub mod beam_curve;
pub mod beam_limits;
mod beam_part;
pub mod beam_segment;
pub mod bridle;
pub mod bridle_steel;
pub mod catenary;
pub mod hoisting;
mod lines;
pub mod on_lines;
pub mod pan;
pub mod rigid_hang;
pub mod scatter;
