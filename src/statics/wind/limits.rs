//! At which wind speed is a stated limit reached?
//!
//! The same gust speed everywhere, q = ½ ρ v²; the least speed is searched in steps and then
//! halved to within a millimetre per second.

use super::pressure::Wind;
use super::swing::{WindInput, WindLoads, wind_loads};
use crate::equilibrium::minimum::RestEnd;
use crate::error::{InputError, Result, accept, positive};
use crate::pose::Hanging;

/// Greatest speed looked at.
pub const MOST_SPEED_M_S: f64 = 80.0;

const STEP_M_S: f64 = 0.25;

/// Limits stated for a hang in the wind.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct WindLimits {
    /// Lean of the lines.
    pub line_deg: Option<f64>,
    /// Change of the frame's tilt, or lean of the hang across its plane.
    pub turn_deg: Option<f64>,
    /// Pull of any hoist.
    pub hoist_n: Option<f64>,
    /// Force on the whole hang, which a pull-back holds.
    pub total_n: Option<f64>,
}

/// The speed at which one limit is reached.
#[derive(Clone, Debug, PartialEq)]
pub struct SpeedAtLimit {
    /// Which limit.
    pub item: &'static str,
    /// The least speed; `None` where it is not reached up to 80 m/s.
    pub speed_m_s: Option<f64>,
}

/// What a limit holds, from the loads in the wind and in still air.
type Quantity = fn(&WindLoads, &WindLoads) -> f64;

/// The least wind speed at which each stated limit is reached.
///
/// # Errors
/// As [`wind_loads`]; no limit, one not above zero, or a speed at which no rest is found.
pub fn speeds_at_limits(
    hanging: &Hanging<'_>,
    input: &WindInput,
    density_kg_m3: f64,
    limits: &WindLimits,
) -> Result<Vec<SpeedAtLimit>> {
    let at = |speed_m_s: f64| {
        let wind = Wind::Speed {
            speed_m_s,
            density_kg_m3,
        };
        let input = WindInput {
            wind,
            ..input.clone()
        };
        let loads = wind_loads(hanging, &input, None)?;
        accept(
            loads.end == RestEnd::AtRest,
            "speed_m_s",
            speed_m_s,
            "a speed at which the hang is found at rest",
        )?;
        Ok(loads)
    };
    let still = at(0.0)?;
    let quantities: [(&str, Option<f64>, Quantity); 4] = [
        ("line_limit_deg", limits.line_deg, |loads, _| {
            loads.line_rad.to_degrees()
        }),
        ("turn_limit_deg", limits.turn_deg, |loads, still| {
            let tilted = (loads.tilt_rad - still.tilt_rad).abs();
            tilted.max(loads.lean_rad.abs()).to_degrees()
        }),
        ("hoist_limit_n", limits.hoist_n, |loads, _| {
            loads.hoist_n.iter().copied().fold(0.0, f64::max)
        }),
        ("total_limit_n", limits.total_n, |loads, _| loads.total_n),
    ];
    let mut found = Vec::new();
    for (item, limit, value) in quantities {
        let Some(limit) = limit else { continue };
        positive(item, limit)?;
        let reached = |speed: f64| at(speed).map(|loads| value(&loads, &still) >= limit);
        accept(
            !reached(0.0)?,
            item,
            limit,
            format!("more than {} in still air", value(&still, &still)),
        )?;
        let mut high = 0.0;
        while high < MOST_SPEED_M_S && !reached(high)? {
            high += STEP_M_S;
        }
        let speed_m_s = if high < MOST_SPEED_M_S {
            let mut low = high - STEP_M_S;
            while high - low > 1e-3 {
                let middle = (low + high) / 2.0;
                if reached(middle)? {
                    high = middle;
                } else {
                    low = middle;
                }
            }
            Some(high)
        } else {
            None
        };
        found.push(SpeedAtLimit { item, speed_m_s });
    }
    if found.is_empty() {
        return Err(InputError::new(
            "limits",
            "none",
            "at least one stated limit",
        ));
    }
    Ok(found)
}
