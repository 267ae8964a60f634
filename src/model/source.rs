//! The sound source of a cabinet: one or more line elements.

use super::{Check, check_parts};
use crate::error::{InputError, Result, accept, finite, non_negative, positive, within_range};
use nalgebra::Complex;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// More gain or loss is taken for a slip of the pen.
pub const MOST_GAIN_DB: f64 = 300.0;

/// What a cabinet radiates. A full-range cabinet with one element is a uniform line source of
/// that height; several elements with their own bands model separate low, mid and high sections.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// The line elements; their complex pressures add.
    pub elements: Vec<LineElement>,
    /// Horizontal angle between the −6 dB directions; `None` radiates alike in all directions.
    #[serde(default)]
    pub coverage_deg: Option<f64>,
    /// Greatest level the cabinet reaches on its axis, referred to 1 m, in dB re 20 µPa.
    #[serde(default)]
    pub max_level_db: Option<f64>,
}

/// A uniform line source along the body's z axis.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineElement {
    /// Length of the radiating line.
    pub height_m: f64,
    /// Middle of the line ahead of the cabinet's front face.
    #[serde(default)]
    pub x_m: f64,
    /// Middle of the line above the cabinet's mid height.
    #[serde(default)]
    pub z_m: f64,
    /// Gain; 0 dB gives unit pressure at 1 m, far-field, on axis.
    #[serde(default)]
    pub gain_db: f64,
    /// Delay of the element's signal.
    #[serde(default)]
    pub delay_s: f64,
    /// Whether the polarity is reversed.
    #[serde(default)]
    pub inverted: bool,
    /// Opening angle of the wave front over the element's height; 0 is a straight line.
    #[serde(default)]
    pub curvature_deg: f64,
    /// The element is silent below this frequency.
    #[serde(default)]
    pub low_hz: Option<f64>,
    /// The element is silent at and above this frequency.
    #[serde(default)]
    pub high_hz: Option<f64>,
}

impl Source {
    /// Sum of the elements' complex weights at a frequency: the pressure on the axis, far away,
    /// referred to 1 m, but for the elements' own offsets.
    #[must_use]
    pub fn on_axis(&self, frequency_hz: f64) -> Complex<f64> {
        self.elements
            .iter()
            .filter(|element| element.sounds_at(frequency_hz))
            .map(|element| {
                let sign = if element.inverted { -1.0 } else { 1.0 };
                let phase_rad = -2.0 * PI * frequency_hz * element.delay_s;
                Complex::from_polar(sign * 10f64.powf(element.gain_db / 20.0), phase_rad)
            })
            .sum()
    }
}

impl LineElement {
    /// Whether a frequency lies within the element's band.
    #[must_use]
    pub fn sounds_at(&self, frequency_hz: f64) -> bool {
        frequency_hz >= self.low_hz.unwrap_or(0.0)
            && frequency_hz < self.high_hz.unwrap_or(f64::INFINITY)
    }
}

impl Check for Source {
    fn check(&self) -> Result<()> {
        if self.elements.is_empty() {
            return Err(InputError::new(
                "elements",
                "[]",
                "at least one line element",
            ));
        }
        check_parts("elements", &self.elements)?;
        if let Some(angle) = self.coverage_deg {
            positive("coverage_deg", angle)?;
            within_range("coverage_deg", angle, 0.0, 350.0)?;
        }
        if let Some(level) = self.max_level_db {
            finite("max_level_db", level)?;
        }
        Ok(())
    }
}

impl Check for LineElement {
    fn check(&self) -> Result<()> {
        positive("height_m", self.height_m)?;
        finite("x_m", self.x_m)?;
        finite("z_m", self.z_m)?;
        within_range("gain_db", self.gain_db, -MOST_GAIN_DB, MOST_GAIN_DB)?;
        finite("delay_s", self.delay_s)?;
        within_range("curvature_deg", self.curvature_deg, 0.0, 90.0)?;
        if let Some(low) = self.low_hz {
            non_negative("low_hz", low)?;
        }
        if let Some(high) = self.high_hz {
            positive("high_hz", high)?;
            let low = self.low_hz.unwrap_or(0.0);
            accept(high > low, "high_hz", high, format!("above low_hz, {low}"))?;
        }
        Ok(())
    }
}
