//! One cabinet of the column and the links that join it to its neighbours.

use super::rigging::Rigging;
use super::{Check, Point, Source, check_limit, check_point};
use crate::error::{InputError, Result, accept, each, finite, positive, within_range};
use serde::{Deserialize, Serialize};

/// A cabinet in its body frame: origin on the front face at mid height, x forward, z up.
///
/// The front hinges lie at (`hinge_x_m`, ± `height_m`/2); the rear link pins at
/// (`rear_pin_x_m`, ± (`height_m`/2 − `rear_pin_inset_m`)).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Cabinet {
    /// Name printed on sheets.
    pub name: String,
    /// Mass with its rigging.
    pub mass_kg: f64,
    /// Distance between the upper and lower front hinge.
    pub height_m: f64,
    /// Front face to rear face.
    pub depth_m: f64,
    /// Side to side.
    pub width_m: f64,
    /// Centre of gravity, `[x, z]`.
    pub cg_m: Point,
    /// Front hinges' x.
    #[serde(default)]
    pub hinge_x_m: f64,
    /// Rear link pins' x; negative is behind the front face.
    #[serde(default = "default_rear_pin_x_m")]
    pub rear_pin_x_m: f64,
    /// Rear link pins' distance inside the upper and lower edge.
    #[serde(default = "default_rear_pin_inset_m")]
    pub rear_pin_inset_m: f64,
    /// Height of the rear face when the box tapers; `None` is `height_m`.
    #[serde(default)]
    pub rear_height_m: Option<f64>,
    /// Angles the joint below this cabinet can be pinned at.
    pub splay_positions_deg: SplayPositions,
    /// What it radiates; calculations of sound need it.
    #[serde(default)]
    pub source: Option<Source>,
    /// Stated limits of its rigging.
    #[serde(default)]
    pub limits: CabinetLimits,
}

fn default_rear_pin_x_m() -> f64 {
    -0.5
}

fn default_rear_pin_inset_m() -> f64 {
    0.05
}

/// The splay angles that can be pinned, per rigging kind, ascending. An empty list means that
/// the cabinet cannot be rigged that way.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SplayPositions {
    /// Positions of two-sided rear links.
    #[serde(default)]
    pub tension: Vec<f64>,
    /// Positions of one-sided rear stops.
    #[serde(default)]
    pub compression: Vec<f64>,
}

impl SplayPositions {
    /// The same list for both rigging kinds.
    #[must_use]
    pub fn both(positions_deg: &[f64]) -> Self {
        Self {
            tension: positions_deg.to_vec(),
            compression: positions_deg.to_vec(),
        }
    }

    /// The list of one rigging kind.
    #[must_use]
    pub fn of(&self, rigging: Rigging) -> &[f64] {
        match rigging {
            Rigging::Tension => &self.tension,
            Rigging::Compression => &self.compression,
        }
    }
}

/// Stated limits of the joint below a cabinet, both sides of the cabinet together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct CabinetLimits {
    /// Front hinge, resultant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hinge_n: Option<f64>,
    /// Rear link, tension.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rear_link_n: Option<f64>,
    /// Rear stop, compression.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stop_n: Option<f64>,
}

impl Cabinet {
    /// Height of the rear face.
    #[must_use]
    pub fn rear_height_m(&self) -> f64 {
        self.rear_height_m.unwrap_or(self.height_m)
    }
}

impl Check for Cabinet {
    fn check(&self) -> Result<()> {
        positive("mass_kg", self.mass_kg)?;
        positive("height_m", self.height_m)?;
        positive("depth_m", self.depth_m)?;
        positive("width_m", self.width_m)?;
        check_point("cg_m", self.cg_m)?;
        finite("hinge_x_m", self.hinge_x_m)?;
        finite("rear_pin_x_m", self.rear_pin_x_m)?;
        accept(
            self.rear_pin_x_m < self.hinge_x_m,
            "rear_pin_x_m",
            self.rear_pin_x_m,
            format!("behind the hinge, below {}", self.hinge_x_m),
        )?;
        within_range(
            "rear_pin_inset_m",
            self.rear_pin_inset_m,
            0.0,
            self.height_m / 2.0,
        )?;
        if let Some(height) = self.rear_height_m {
            positive("rear_height_m", height)?;
        }
        let positions = &self.splay_positions_deg;
        check_positions("tension", &positions.tension)
            .and_then(|()| check_positions("compression", &positions.compression))
            .and_then(|()| {
                if positions.tension.is_empty() && positions.compression.is_empty() {
                    Err(InputError::new("", "[]", "at least one angle"))
                } else {
                    Ok(())
                }
            })
            .map_err(|error| error.within("splay_positions_deg"))?;
        if let Some(source) = &self.source {
            source.check().map_err(|error| error.within("source"))?;
        }
        self.limits.check().map_err(|error| error.within("limits"))
    }
}

fn check_positions(kind: &str, positions_deg: &[f64]) -> Result<()> {
    each(kind, positions_deg, |field, angle| {
        within_range(field, angle, 0.0, 45.0)
    })?;
    for (index, pair) in positions_deg.windows(2).enumerate() {
        accept(
            pair[1] > pair[0],
            &format!("{kind}[{}]", index + 1),
            pair[1],
            format!("ascending, above {}", pair[0]),
        )?;
    }
    Ok(())
}

impl Check for CabinetLimits {
    fn check(&self) -> Result<()> {
        check_limit("hinge_n", self.hinge_n)?;
        check_limit("rear_link_n", self.rear_link_n)?;
        check_limit("stop_n", self.stop_n)
    }
}
