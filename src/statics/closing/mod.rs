//! How a compression hang closes: which joint when, with how much chain force.
//!
//! Gravity opens the rear of the joints, the chain from fly frame to bottom frame closes them,
//! stops end their travel: θ_j from the open limit to the pinned splay. At chain force T the state
//! minimises V(θ) = Σ m g z(θ) + T L(θ) within these bounds, L the length of the taut chain.
//! Closed means every joint on its stop with a contact moment of at least zero:
//! T ∂L/∂θ_j + ∂U/∂θ_j ≤ 0, so with −∂L/∂θ_j > 0 the lever of the chain about hinge j,
//! T = max_j (∂U/∂θ_j) / (−∂L/∂θ_j).

mod bypass;
mod closed;
mod clutch;
mod contact;
mod crossing;
mod curve;
mod descent;
mod forces;
pub(crate) mod mechanism;
pub(crate) mod path;
mod remedies;
mod report;
mod sensitivity;
pub(crate) mod settle;
mod spread;
mod staged;
pub(crate) mod state;
mod stiffness;
mod string;
pub(crate) mod support;
mod turn;

pub use bypass::{Bypass, BypassEnd, bypass};
pub use closed::{ClosedState, ClosingForce, add_closed_limits, closing_force};
pub use clutch::ClutchVerdict;
pub use contact::{Contact, ContactEvent, PathEnd, Snap};
pub use forces::JointForces;
pub use mechanism::TopJoint;
pub use remedies::{LandingRemedy, Remedies, StageRemedy, TiltRemedy, available_n, remedies};
pub use report::{Closing, ClosingOptions, ClosingPath, RestAtForce, close, rest_at_force};
pub use sensitivity::{Sensitivity, sensitivities};
pub use settle::RestEnd;
pub use spread::{Spread, SpreadCases, spread};
pub use staged::{ClosingStage, ClosingStages, StageEnd, closing_stages};
pub use support::{FrameHold, Slack};

use crate::error::Result;
use crate::model::{Hang, Valid};

/// Length of the taut chain in the free hang and with every joint on its stop, frame held at
/// `tilt_deg`, and how the free hang was found.
///
/// # Errors
/// Not a compression hang, or no bottom frame or chain anchor.
pub fn chain_lengths_m(hang: &Valid<Hang>, tilt_deg: f64) -> Result<([f64; 2], RestEnd)> {
    crate::error::within_range("tilt_deg", tilt_deg, -90.0, 90.0)?;
    let tilt_rad = tilt_deg.to_radians();
    let mechanism = mechanism::Mechanism::new(hang, &hang.splays_deg, tilt_rad, TopJoint::Locked)?;
    let closed = state::State::at(&mechanism, &mechanism.closed_rad());
    let free = path::free_hang(&mechanism);
    Ok(([free.state.chain_m, closed.chain_m], free.end))
}

#[cfg(test)]
mod tests;
