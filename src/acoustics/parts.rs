//! Into how many parts is one line element cut? The equation is that of [`cutting`](super::cutting).

use crate::model::LineElement;
use std::f64::consts::PI;

/// How line elements are cut into parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Parts {
    /// Each into so many; at least one.
    Each(usize),
    /// Each into as few as keep the error within a tolerance.
    Within {
        /// Distance of the nearest receiver.
        nearest_m: f64,
        /// Highest frequency over the speed of sound, in waves a metre.
        waves_per_m: f64,
        /// Greatest share of a part's pressure that may be left out.
        tolerance: f64,
    },
}

impl Parts {
    pub(super) fn of(self, element: &LineElement) -> usize {
        match self {
            Self::Each(parts) => parts.max(1),
            Self::Within {
                nearest_m,
                waves_per_m,
                tolerance,
            } => {
                let wavenumber = 2.0 * PI * waves_per_m;
                let height = element.height_m;
                let spread = height * height * (wavenumber + 2.0 / nearest_m) / (24.0 * nearest_m);
                let bow = wavenumber * height * element.curvature_deg.to_radians() / 12.0;
                (spread.max(bow) / tolerance).sqrt().ceil().max(1.0) as usize
            }
        }
    }
}
