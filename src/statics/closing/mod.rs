//! How a compression hang closes: which joint when, with how much chain force.
//!
//! Gravity opens the rear of the joints, the chain from fly frame to bottom frame closes them,
//! stops end their travel: θ_j from the open limit to the pinned splay. At chain force T the state
//! minimises V(θ) = Σ m g z(θ) + T L(θ) within these bounds, L the length of the taut chain.
//! Closed means every joint on its stop with a contact moment of at least zero:
//! T ∂L/∂θ_j + ∂U/∂θ_j ≤ 0, so with −∂L/∂θ_j > 0 the lever of the chain about hinge j,
//! T = max_j (∂U/∂θ_j) / (−∂L/∂θ_j).

pub(crate) mod answers;
pub(crate) mod solver;

pub use answers::bypass::{Bypass, BypassEnd, bypass};
pub use answers::closed::{
    ClosedState, ClosingForce, add_closed_at, add_closed_limits, closing_force,
};
pub use answers::clutch::ClutchVerdict;
pub use answers::forces::JointForces;
pub use answers::friction::{FrictionBand, HingeFriction};
pub use answers::remedies::{
    LandingRemedy, Remedies, StageRemedy, TiltRemedy, available_n, remedies,
};
pub use answers::report::{
    Closing, ClosingEnd, ClosingOptions, ClosingPath, RestAtForce, close, rest_at_force,
};
pub use answers::sensitivity::{Sensitivity, sensitivities};
pub use answers::shortening::{LinkChoice, Shortening, ShorteningEnd, shortening};
pub use answers::spread::{Spread, SpreadCases, spread};
pub use answers::staged::{ClosingStage, ClosingStages, StageEnd, closing_stages};
pub use answers::support::{FrameHold, Slack};
pub use solver::contact::{Contact, ContactEvent, PathEnd, Snap};

#[cfg(test)]
mod tests;
