//! What a crew asks of the closing: with how much force, which link, in which stages, what else.

pub mod bypass;
pub mod closed;
pub mod clutch;
pub mod forces;
pub mod friction;
pub mod remedies;
pub mod report;
pub mod sensitivity;
pub mod shortening;
pub mod spread;
pub mod staged;
pub mod support;
