//! Where does a system come to rest: at least energy, within bounds that only press?
//!
//! min U(q) with low ≤ q ≤ high, and one length L(q) that is pulled by a force, held, or sprung
//! ([`minimum`], by the steps of [`newton`]); and shares of a load between supports that only pull
//! ([`non_negative`]), a quadratic programme. [`tolerances`] says what counts as nothing.

pub mod minimum;
pub mod newton;
pub mod non_negative;
pub mod tolerances;

/// Which bound a coordinate rests on, if any.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rest {
    /// The lower one.
    Low,
    /// Between the two.
    Free,
    /// The upper one.
    High,
}

impl Rest {
    /// How far a slope of the energy pushes the coordinate off its bound; positive wants to leave.
    #[must_use]
    pub fn urge(self, slope: f64) -> f64 {
        match self {
            Self::Low => -slope,
            Self::High => slope,
            Self::Free => 0.0,
        }
    }
}

/// What acts on the length L besides the bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hold {
    /// A constant force pulls it short.
    Force(f64),
    /// It is held.
    Length(f64),
    /// A spring that only pulls, with its rate and the length at which it is slack.
    Spring {
        /// Force over stretch.
        rate: f64,
        /// Length at which it is slack.
        slack: f64,
    },
}

/// Energy and length at one place, with their derivatives.
pub trait Landscape {
    /// The coordinates q.
    fn position(&self) -> &[f64];
    /// The coordinates, to be changed; [`System::update`] follows.
    fn position_mut(&mut self) -> &mut [f64];
    /// U.
    fn energy(&self) -> f64;
    /// ∂U/∂q.
    fn slope(&self, index: usize) -> f64;
    /// L.
    fn length(&self) -> f64;
    /// ∂L/∂q.
    fn lever(&self, index: usize) -> f64;
    /// ∂²(U + T L)/∂q∂q.
    fn curvature(&self, a: usize, b: usize, force: f64) -> f64;
}

/// A system with bounds.
pub trait System {
    /// The system at one place.
    type Place: Landscape + Clone;
    /// Lower and upper bound of a coordinate; equal where it is locked.
    fn bounds(&self, index: usize) -> [f64; 2];
    /// Computes the place anew after its coordinates have changed.
    fn update(&self, place: &mut Self::Place);
    /// Its size, which lengths are compared with.
    fn length_scale(&self) -> f64;
    /// All loads at its size, which slopes and energies are compared with.
    fn energy_scale(&self) -> f64;
}

/// Greatest magnitude.
#[must_use]
pub fn largest(values: &[f64]) -> f64 {
    values.iter().fold(0.0, |most, value| value.abs().max(most))
}

/// The bounds that coordinates rest on.
pub fn rests_at<S: System>(system: &S, position: &[f64]) -> Vec<Rest> {
    let at = |(index, &value): (usize, &f64)| {
        let [low, high] = system.bounds(index);
        if value >= high {
            Rest::High
        } else if value <= low {
            Rest::Low
        } else {
            Rest::Free
        }
    };
    position.iter().enumerate().map(at).collect()
}

#[cfg(test)]
mod tests;
