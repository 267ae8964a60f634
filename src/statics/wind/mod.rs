//! What does wind do to a hang?
//!
//! `pressure` is the wind itself, `blown` a hang with the wind on it, `swing` where it comes to rest,
//! `parts` what every part of it carries then, `limits` the speed at which something stated is
//! reached.

mod blown;
pub mod limits;
pub mod oblique;
pub mod parts;
pub mod pressure;
pub mod swing;

#[cfg(test)]
mod tests;
