//! The state of the air between hang and seats.

use super::Check;
use crate::error::{Result, positive, within_range};
use serde::{Deserialize, Serialize};

/// Temperature, humidity and pressure, taken as the same everywhere in the venue.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Air {
    /// Air temperature in degrees Celsius, −20 to 50 (the range tabulated in ISO 9613-1).
    #[serde(default = "room_temperature_c")]
    pub temperature_c: f64,
    /// Relative humidity in percent, above 0 to 100.
    #[serde(default = "room_humidity_percent")]
    pub humidity_percent: f64,
    /// Ambient pressure in kilopascals, below 200 (ISO 9613-1, clause 1).
    #[serde(default = "standard_pressure_kpa")]
    pub pressure_kpa: f64,
}

fn room_temperature_c() -> f64 {
    20.0
}

fn room_humidity_percent() -> f64 {
    50.0
}

/// One standard atmosphere, 101.325 kPa (ISO 2533).
fn standard_pressure_kpa() -> f64 {
    101.325
}

impl Default for Air {
    fn default() -> Self {
        Self {
            temperature_c: room_temperature_c(),
            humidity_percent: room_humidity_percent(),
            pressure_kpa: standard_pressure_kpa(),
        }
    }
}

impl Check for Air {
    fn check(&self) -> Result<()> {
        within_range("temperature_c", self.temperature_c, -20.0, 50.0)?;
        positive("humidity_percent", self.humidity_percent)?;
        within_range("humidity_percent", self.humidity_percent, 0.0, 100.0)?;
        positive("pressure_kpa", self.pressure_kpa)?;
        within_range("pressure_kpa", self.pressure_kpa, 0.0, 200.0)?;
        Ok(())
    }
}
