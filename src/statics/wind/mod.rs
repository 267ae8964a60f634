//! What does wind do to a hang?
//!
//! `pressure` is the wind itself, `swing` where the hang comes to rest in it, `limits` the speed at
//! which something stated is reached.

pub mod limits;
pub mod pressure;
pub mod swing;

#[cfg(test)]
mod tests;
