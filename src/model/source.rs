//! The sound source of a cabinet: one or more line elements.

use super::balloon::{self, Balloon};
use super::{Check, check_parts};
use crate::error::{InputError, Result, accept, finite, non_negative, positive, within_range};
use nalgebra::Complex;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;
use std::sync::Arc;

/// More gain or loss is taken for a slip of the pen.
pub const MOST_GAIN_DB: f64 = 300.0;

/// What a cabinet radiates. A full-range cabinet with one element is a uniform line source of
/// that height; several elements with their own bands model separate low, mid and high sections.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// The line elements; their complex pressures add. None where there is a balloon.
    #[serde(default)]
    pub elements: Vec<LineElement>,
    /// Horizontal angle between the −6 dB directions; `None` radiates alike in all directions.
    #[serde(default)]
    pub coverage_deg: Option<f64>,
    /// The same where it changes: `[frequency_hz, coverage_deg]`, rising; see [`Source::coverages`].
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub coverage_hz_deg: Vec<[f64; 2]>,
    /// Greatest level the cabinet reaches on its axis, referred to 1 m, in dB re 20 µPa.
    #[serde(default)]
    pub max_level_db: Option<f64>,
    /// The same third octave by third octave: `[frequency_hz, level_db]`, rising.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub max_level_hz_db: Vec<[f64; 2]>,
    /// The cabinet as measured, instead of line elements.
    #[serde(
        default,
        deserialize_with = "balloon::shared",
        serialize_with = "balloon::write",
        skip_serializing_if = "Option::is_none"
    )]
    pub balloon: Option<Arc<Balloon>>,
}

/// A uniform line source along the body's z axis.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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

impl Source {
    /// Where coverage changes with frequency, it is that of the third octave's middle, its logarithm
    /// straight over that of the frequency and the nearest beyond the ends: bands `[low, high)` in Hz
    /// that leave out nothing, each with its angle.
    #[must_use]
    pub fn coverages(&self) -> Vec<([f64; 2], Option<f64>)> {
        const LOWEST: i32 = -20;
        const HIGHEST: i32 = 13;
        let [Some(first), Some(last)] = [self.coverage_hz_deg.first(), self.coverage_hz_deg.last()]
        else {
            return vec![([0.0, f64::INFINITY], self.coverage_deg)];
        };
        let edge_hz = |number: i32| 1000.0 * 10f64.powf((f64::from(number) - 0.5) / 10.0);
        let mut bands = vec![([0.0, f64::INFINITY], Some(first[1]))];
        for number in LOWEST..=HIGHEST {
            let mid_hz = 1000.0 * 10f64.powf(f64::from(number) / 10.0);
            if mid_hz <= first[0] {
                continue;
            }
            let angle_deg = self.coverage_at(mid_hz);
            if let Some(open) = bands.last_mut() {
                open.0[1] = edge_hz(number);
            }
            bands.push(([edge_hz(number), f64::INFINITY], Some(angle_deg)));
            if mid_hz >= last[0] {
                break;
            }
        }
        bands
    }

    fn coverage_at(&self, frequency_hz: f64) -> f64 {
        let points = &self.coverage_hz_deg;
        let upper = points.partition_point(|point| point[0] <= frequency_hz);
        let [low, high] =
            [upper.saturating_sub(1), upper.min(points.len() - 1)].map(|at| points[at]);
        if high[0] <= low[0] {
            return low[1];
        }
        let share = (frequency_hz / low[0]).ln() / (high[0] / low[0]).ln();
        low[1] * (high[1] / low[1]).powf(share)
    }

    /// Makes it louder by `gain_db`.
    pub fn add_gain(&mut self, gain_db: f64) {
        for element in &mut self.elements {
            element.gain_db += gain_db;
        }
        if let Some(balloon) = &mut self.balloon
            && gain_db != 0.0
        {
            *balloon = Arc::new(balloon.with_gain_db(gain_db));
        }
    }

    /// Greatest level in the third octave about a frequency, where one is stated for it.
    #[must_use]
    pub fn max_level_at(&self, mid_hz: f64) -> Option<f64> {
        let near = |stated: f64| (10.0 * (stated / mid_hz).log10()).abs() < 0.5;
        let stated = self.max_level_hz_db.iter().find(|pair| near(pair[0]));
        stated.map(|pair| pair[1])
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
        match &self.balloon {
            None if self.elements.is_empty() => {
                return Err(InputError::new(
                    "elements",
                    "[]",
                    "at least one line element, or a balloon",
                ));
            }
            Some(_) if !self.elements.is_empty() => {
                return Err(InputError::new("balloon", "given", "no elements beside it"));
            }
            _ => check_parts("elements", &self.elements)?,
        }
        let stated = self.coverage_deg.is_some() || !self.coverage_hz_deg.is_empty();
        if self.balloon.is_some() && stated {
            let allowed = "no coverage, which the balloon tells";
            return Err(InputError::new("balloon", "given", allowed));
        }
        if let Some(angle) = self.coverage_deg {
            positive("coverage_deg", angle)?;
            within_range("coverage_deg", angle, 0.0, 350.0)?;
        }
        if self.coverage_deg.is_some() && !self.coverage_hz_deg.is_empty() {
            let allowed = "none beside coverage_hz_deg";
            return Err(InputError::new("coverage_deg", "given", allowed));
        }
        check_pairs("coverage_hz_deg", &self.coverage_hz_deg, |field, angle| {
            positive(field, angle)?;
            within_range(field, angle, 0.0, 350.0)
        })?;
        if let Some(level) = self.max_level_db {
            finite("max_level_db", level)?;
        }
        check_pairs("max_level_hz_db", &self.max_level_hz_db, finite)
    }
}

/// Values over rising frequencies.
fn check_pairs(
    field: &str,
    pairs: &[[f64; 2]],
    check: impl Fn(&str, f64) -> Result<f64>,
) -> Result<()> {
    for (index, [hz, value]) in pairs.iter().enumerate() {
        positive(&format!("{field}[{index}][0]"), *hz)?;
        check(&format!("{field}[{index}][1]"), *value)?;
        let before = index.checked_sub(1).map_or(0.0, |index| pairs[index][0]);
        let name = format!("{field}[{index}][0]");
        accept(*hz > before, &name, hz, format!("rising, above {before}"))?;
    }
    Ok(())
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
