//! Wind that is neither from the front nor from a side, and gusts that set a hang swinging.
//!
//! At angle β from the front the components v cos β and v sin β press as winds of their own:
//! F_x = −F_front cos β |cos β|, F_y = F_side sin β |sin β|, F_front and F_side those of the whole wind
//! square on. That is the cross-flow principle of slender members, e.g. DNV-RP-C205 (from memory); EN
//! 1991-1-4 has no figure for a rectangular section turned in the wind, and a corner-on wind can press
//! harder than this on either.
//!
//! A gust that starts at once and lasts t drives an undamped pendulum of period T to
//! 2 sin(π t/T) times its rest under a steady wind of the same pressure, for t below T/2, and to twice
//! beyond: rectangular pulse, Clough & Penzien, Dynamics of Structures, 2nd ed., 5-3 (from memory).

use super::blown::{From, WindInput, check, forces};
use crate::error::{Result, non_negative, positive, within_range};
use crate::pose::Hanging;
use std::f64::consts::PI;

/// Force (x, y) on each cabinet of a wind from `from_deg`: 0 the front, 90 the right side, 180 the rear.
///
/// # Errors
/// As [`super::swing::wind_loads`], or an angle beyond ±360°.
pub fn oblique_forces(
    hanging: &Hanging<'_>,
    input: &WindInput,
    from_deg: f64,
) -> Result<Vec<[f64; 2]>> {
    within_range("from_deg", from_deg, -360.0, 360.0)?;
    let placed = check(hanging, input)?;
    let square_on = |from: From| {
        let input = WindInput {
            from,
            ..input.clone()
        };
        forces(hanging.hang, &input, &placed).map(|(_, force_n)| force_n)
    };
    let (sine, cosine) = from_deg.to_radians().sin_cos();
    let along = -cosine * cosine.abs();
    let across = sine * sine.abs();
    let fronts = square_on(From::Front)?;
    let sides = square_on(From::Side)?;
    Ok(fronts
        .iter()
        .zip(&sides)
        .map(|(front, side)| [front * along, side * across])
        .collect())
}

/// Greatest swing in a gust over the rest in a steady wind.
///
/// # Errors
/// A duration below zero or a period not above.
pub fn gust_factor(gust_s: f64, period_s: f64) -> Result<f64> {
    non_negative("gust_s", gust_s)?;
    positive("period_s", period_s)?;
    let share = (gust_s / period_s).min(0.5);
    Ok(2.0 * (PI * share).sin())
}
