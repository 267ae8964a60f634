//! What counts as nothing, as a share of the problem's own scale.
//!
//! Slopes and energies are shares of all loads at the system's size, lengths of its size, angles
//! are radians. Powers of ten between the rounding of a double, 1e-16, times the number of terms
//! added, and what a user could tell apart.

/// Slopes at rest. What a solver calls at rest holds to this.
pub const AT_REST: f64 = 1e-9;

/// A slope that draws a coordinate off its bound; below it the contact stays.
pub const LETS_GO: f64 = 1e-11;

/// A change of a coordinate that changes nothing more, being squared by the next step.
pub const SETTLED: f64 = 1e-12;

/// A change of a coordinate that is rest where rounding hides any fall of the energy.
pub const NEARLY_SETTLED: f64 = 1e-7;

/// A pivot of the curvature, over its greatest diagonal, that is not positive.
pub const FLAT: f64 = 1e-13;

/// The first shift of a curvature that is not positive.
pub const SHIFT: f64 = 1e-5;

/// A rise of the energy that is rounding.
pub const ENERGY_ROUNDING: f64 = 1e-14;

/// Greatest change of a coordinate in one step of a descent.
pub const STRIDE: f64 = 0.02;

/// Lengths that differ by rounding.
pub const SAME_LENGTH: f64 = 1e-13;

/// A held length that is met; below it one more step changes nothing.
pub const LENGTH_MET: f64 = 1e-10;

/// How far a held length may be missed on the way of a descent.
pub const LENGTH_NEAR: f64 = 1e-8;

/// A force over the loads that ask for it, from which on what it acts through is no lever: its size
/// would follow from the last digits of the lengths, and no part is stated for it.
pub const NO_LEVER: f64 = 1e4;

/// A force over the loads in which the balance of an answer may fail; more is no answer.
pub const BALANCED: f64 = 1e-9;

/// A share of a sum that is rounding.
pub const ROUNDING: f64 = 1e-12;
