//! What lies between the fly frame and the roof: bridles, heavy chain, beams, and a rigid frame on
//! many hoists.

pub mod bridle;
pub mod bridle_steel;
pub mod catenary;
