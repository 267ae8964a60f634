//! Where on the curve a joint comes to rest on a bound, or leaves one.
//!
//! An event happens where its excess passes zero: the joint's angle beyond its bound, or the moment
//! by which the hang would draw it off. Between two points of the curve it is foretold by the cubic
//! with the excesses and their derivatives, then hit by Newton's method together with the balance.

use super::curve::{Aim, Curve, Hindrance};
use super::event::Event;
use crate::equilibrium::Rest;
use crate::equilibrium::tolerances::ROUNDING;

impl Curve<'_> {
    /// Goes to chain length `length_m`, or to the first event before it and gives the event.
    pub fn go_to(&mut self, length_m: f64) -> Result<Option<Event>, Hindrance> {
        self.foretell(length_m);
        self.correct(Aim::Length(length_m))?;
        let event = self.first_event()?;
        std::mem::swap(&mut self.before, &mut self.now);
        std::mem::swap(&mut self.now, &mut self.trial);
        self.has_before = event.is_none();
        Ok(event)
    }

    /// The event that has happened to `joint` in the trial, if any.
    fn passed(&self, joint: usize) -> Option<Event> {
        if !self.mechanism.travels[joint].moves() {
            return None;
        }
        let possible: &[Rest] = match self.rests[joint] {
            Rest::Free => &[Rest::High, Rest::Low],
            _ => &[Rest::Free],
        };
        possible
            .iter()
            .map(|&becomes| Event { joint, becomes })
            .find(|&event| self.excess(&self.trial, event) > ROUNDING)
    }

    /// The share of the way from the present point to the trial at which `event` seems to happen.
    fn share_at(&self, event: Event) -> f64 {
        let before = self.excess(&self.now, event);
        if before >= 0.0 {
            return 0.0;
        }
        let way = self.trial.state.chain_m - self.now.state.chain_m;
        zero_of_cubic(
            [before, way * self.excess_rate(&self.now, event)],
            [
                self.excess(&self.trial, event),
                way * self.excess_rate(&self.trial, event),
            ],
        )
    }

    /// The first event between the present point and the trial, with the trial brought back to it.
    pub fn first_event(&mut self) -> Result<Option<Event>, Hindrance> {
        let mut found: Option<Event> = None;
        for _ in 0..=2 * self.rests.len() {
            let earliest = (0..self.rests.len())
                .filter(|&joint| found.is_none_or(|event| event.joint != joint))
                .filter_map(|joint| self.passed(joint))
                .map(|event| (event, self.share_at(event)))
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let Some((event, share)) = earliest else {
                break;
            };
            std::mem::swap(&mut self.trial, &mut self.far);
            if share == 0.0 {
                self.trial.clone_from(&self.now);
                return Ok(Some(event));
            }
            self.interpolate(share);
            self.correct(Aim::Event(event))?;
            let here_m = self.trial.state.chain_m;
            if here_m > self.now.state.chain_m + ROUNDING
                || here_m < self.far.state.chain_m - ROUNDING
            {
                return Err(Hindrance);
            }
            found = Some(event);
        }
        Ok(found)
    }
}

/// Where in 0 … 1 a cubic passes zero upwards, from value and derivative at both ends.
fn zero_of_cubic(start: [f64; 2], end: [f64; 2]) -> f64 {
    let at = |share: f64| {
        let rest = 1.0 - share;
        let [a, slope_a] = start;
        let [b, slope_b] = end;
        rest * rest * ((1.0 + 2.0 * share) * a + share * slope_a)
            + share * share * ((3.0 - 2.0 * share) * b - rest * slope_b)
    };
    let (mut low, mut high) = (0.0, 1.0);
    let (mut low_value, mut high_value) = (start[0], end[0]);
    for _ in 0..20 {
        let secant = low - low_value * (high - low) / (high_value - low_value);
        let middle = 0.5 * (secant + 0.5 * (low + high));
        for share in [secant, middle] {
            let value = at(share);
            if value < 0.0 && share > low {
                (low, low_value) = (share, value);
            } else if value >= 0.0 && share < high {
                (high, high_value) = (share, value);
            }
        }
        if high - low < 1e-9 {
            break;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// k (s − r)(1 + c (s − r)²) has one zero and rises everywhere.
        #[test]
        fn the_zero_of_a_cubic_known_by_its_zero_is_found(
            root in 0.0..1.0f64,
            size in 0.01..100.0f64,
            bend in 0.0..20.0f64,
        ) {
            let value = |s: f64| size * (s - root) * (1.0 + bend * (s - root).powi(2));
            let slope = |s: f64| size * (1.0 + 3.0 * bend * (s - root).powi(2));
            let found = zero_of_cubic([value(0.0), slope(0.0)], [value(1.0), slope(1.0)]);
            prop_assert!((found - root).abs() < 1e-8, "{found} for {root}");
        }
    }
}
