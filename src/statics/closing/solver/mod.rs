//! Follows the hang from free to closed.
//!
//! [`path`] goes along the pieces of the curve of balances ([`curve`], by the factors of
//! [`stiffness`]) from one contact event ([`event`]) to the next ([`crossing`]), and lets the hang
//! fall where no piece goes on. [`contact`] has what can happen on the way.

pub mod contact;
mod crossing;
mod curve;
mod event;
pub(crate) mod path;
pub(crate) mod stiffness;
