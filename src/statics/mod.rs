//! What hangs on what: the forces of a hang at rest.

pub mod balance;
pub mod buildup;
pub mod closing;
pub mod joints;
pub mod limits;
pub mod part_loads;
pub mod pull_back;
pub(crate) mod rest;
pub(crate) mod sampling;
pub mod sides;
pub mod survey;
pub mod suspension;
pub mod tilted;
pub mod wind;
