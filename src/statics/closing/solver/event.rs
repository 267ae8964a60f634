//! A joint coming to rest on a bound, or leaving one.

use crate::equilibrium::Rest;
use crate::pose::mechanism::Mechanism;

/// A joint coming to rest on a bound, or leaving one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Event {
    pub joint: usize,
    pub becomes: Rest,
}

impl Event {
    /// The angle at which the joint comes to rest.
    pub fn bound_rad(&self, mechanism: &Mechanism) -> Option<f64> {
        let travel = &mechanism.travels[self.joint];
        match self.becomes {
            Rest::High => Some(travel.stop_rad),
            Rest::Low => Some(travel.open_rad),
            Rest::Free => None,
        }
    }
}
