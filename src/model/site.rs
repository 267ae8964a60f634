//! Where a hang hangs on the floor plan, what is fed to it, and what hangs beside it.

use super::{Check, Hang};
use crate::error::{InputError, Result, finite, within_range};
use crate::model::MOST_GAIN_DB;
use serde::{Deserialize, Serialize};

/// A place on the floor plan, and the signal there.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// Where the hang's plane stands, `[x, y]`.
    #[serde(default)]
    pub position_m: [f64; 2],
    /// Turn of the hang's plane about z, positive to the left.
    #[serde(default)]
    pub pan_deg: f64,
    /// Name of the signal. Pressures of hangs of one feed add, of unlike ones their energies.
    #[serde(default = "default_feed")]
    pub feed: String,
    /// Delay of the whole hang.
    #[serde(default)]
    pub delay_s: f64,
    /// Gain of the whole hang.
    #[serde(default)]
    pub gain_db: f64,
}

fn default_feed() -> String {
    "programme".into()
}

impl Default for Site {
    fn default() -> Self {
        Self {
            position_m: [0.0; 2],
            pan_deg: 0.0,
            feed: default_feed(),
            delay_s: 0.0,
            gain_db: 0.0,
        }
    }
}

impl Site {
    /// Whether it is that of a hang that hangs alone.
    #[must_use]
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }

    /// Whether `other` mirrors it in the plane y = 0, the feed left aside.
    #[must_use]
    pub fn is_mirrored_by(&self, other: &Self) -> bool {
        let [x_m, y_m] = self.position_m;
        other.position_m == [x_m, -y_m]
            && other.pan_deg == -self.pan_deg
            && other.delay_s == self.delay_s
            && other.gain_db == self.gain_db
    }
}

impl Check for Site {
    fn check(&self) -> Result<()> {
        finite("position_m[0]", self.position_m[0])?;
        finite("position_m[1]", self.position_m[1])?;
        within_range("pan_deg", self.pan_deg, -360.0, 360.0)?;
        if self.feed.is_empty() {
            return Err(InputError::new("feed", "\"\"", "a name"));
        }
        finite("delay_s", self.delay_s)?;
        within_range("gain_db", self.gain_db, -MOST_GAIN_DB, MOST_GAIN_DB).map(drop)
    }
}

/// A hang that sounds beside the one a study is about, as it hangs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Neighbour {
    /// Name printed on sheets.
    pub name: String,
    /// The hang with its pins.
    pub hang: Hang,
    /// Elevation of the fly frame's axis.
    pub tilt_deg: f64,
    /// Height of cabinet 0's upper front hinge.
    pub top_m: f64,
    /// Where it hangs, and its signal.
    #[serde(default)]
    pub site: Site,
}

impl Check for Neighbour {
    fn check(&self) -> Result<()> {
        self.hang.check().map_err(|error| error.within("hang"))?;
        within_range("tilt_deg", self.tilt_deg, -90.0, 90.0)?;
        finite("top_m", self.top_m)?;
        self.site.check().map_err(|error| error.within("site"))
    }
}
