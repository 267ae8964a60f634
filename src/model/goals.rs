//! What is wanted of a hang, as data.
//!
//! objective = spread of the levels over the seats − `level_price` · mean level of the seats
//! + `roughness_price` · roughness of the pins + `off_seats_price` · level off the seats.

use super::{Check, Point, check_limit, check_point};
use crate::error::{Result, accept, each, finite, non_negative, positive, within_range};
use serde::{Deserialize, Serialize};

/// Over what the spread of the levels is taken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Measure {
    /// Over the seats in each third octave: the unevenness.
    #[default]
    #[serde(rename = "per band")]
    PerBand,
    /// Over the seats alone, of levels summed over the third octaves from 1 to 8 kHz.
    #[serde(rename = "broadband")]
    Broadband,
}

/// Over which of several airs and tolerances the objective is taken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub enum Over {
    /// Their mean.
    #[default]
    #[serde(rename = "mean")]
    Mean,
    /// The worst of them.
    #[serde(rename = "worst")]
    Worst,
}

/// Goals, prices and bounds of a splay search.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Goals {
    /// Over what the spread of the levels is taken.
    #[serde(default)]
    pub measure: Measure,
    /// Lowest band of the per-band measure, by any frequency in it.
    #[serde(default = "default_lowest_hz")]
    pub lowest_hz: f64,
    /// Highest band of the per-band measure.
    #[serde(default = "default_highest_hz")]
    pub highest_hz: f64,
    /// How much each band counts, from the lowest; empty counts all alike.
    #[serde(default)]
    pub band_weight: Vec<f64>,
    /// Decibels of spread that a decibel of mean level is worth.
    #[serde(default = "default_level_price")]
    pub level_price: f64,
    /// Decibels of spread that a degree of roughness of the pins costs.
    #[serde(default = "default_roughness_price")]
    pub roughness_price: f64,
    /// Decibels of spread that a decibel of level off the seats costs.
    #[serde(default = "default_off_seats_price")]
    pub off_seats_price: f64,
    /// Greatest mean level off the seats, over that of the seats.
    #[serde(default)]
    pub most_off_seats_db: Option<f64>,
    /// Places off the seats beside those that follow from the venue, `[x, y, z]`.
    #[serde(default)]
    pub off_seats_m: Vec<[f64; 3]>,
    /// Wanted levels of blocks, up to a constant over all.
    #[serde(default)]
    pub wanted: Vec<WantedLevel>,
    /// Over which of several airs and tolerances the objective is taken.
    #[serde(default)]
    pub over: Over,
    /// How much a decibel of spectral spread counts beside the measure.
    #[serde(default)]
    pub spectral_weight: f64,
    /// Places that shall stay quieter than the seats.
    #[serde(default, alias = "ceilings")] // their name in studies of version 1
    pub quiet_places: Vec<QuietPlace>,
    /// Mean level of the seats at equal drive, over that of one cabinet on its axis at 1 m.
    #[serde(default)]
    pub least_mean_db: Option<f64>,
    /// Level, in dB re 20 µPa, that every seat shall reach at full drive.
    #[serde(default)]
    pub least_reach_db: Option<f64>,
    /// Greatest closing force of a compression hang.
    #[serde(default)]
    pub most_closing_force_n: Option<f64>,
    /// Greatest mass hung, fly frame included.
    #[serde(default)]
    pub most_mass_kg: Option<f64>,
    /// Cabinets a cart brings while the hang is built: the hoists' loads in every stage are then held
    /// to their limits too, and none may have to push. `None` looks at the finished hang alone.
    #[serde(default)]
    pub building_stack: Option<u32>,
    /// Lines that the hang shall not cross.
    #[serde(default)]
    pub sight_lines: Vec<SightLine>,
    /// Smallest and largest number of cabinets, taken from the top of the list; `None` hangs all.
    #[serde(default)]
    pub cabinet_range: Option<[u32; 2]>,
    /// Gains each cabinet may be set to; empty leaves all at 0 dB.
    #[serde(default)]
    pub gains_db: Vec<f64>,
}

/// A level that is wanted in one block of seats, against the others.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct WantedLevel {
    /// Name of the block.
    pub area: String,
    /// One level for the whole block, or one at each corner of its floor line.
    pub level_db: Vec<f64>,
}

/// The second octave below 1 kHz: below it a hang of a few metres steers little.
fn default_lowest_hz() -> f64 {
    250.0
}

fn default_highest_hz() -> f64 {
    8000.0
}

/// The note on five venues says what it costs and brings over many venues.
fn default_level_price() -> f64 {
    0.1
}

fn default_roughness_price() -> f64 {
    0.03
}

fn default_off_seats_price() -> f64 {
    0.0
}

impl Default for Goals {
    fn default() -> Self {
        Self {
            measure: Measure::default(),
            lowest_hz: default_lowest_hz(),
            highest_hz: default_highest_hz(),
            band_weight: Vec::new(),
            level_price: default_level_price(),
            roughness_price: default_roughness_price(),
            off_seats_price: default_off_seats_price(),
            most_off_seats_db: None,
            off_seats_m: Vec::new(),
            wanted: Vec::new(),
            over: Over::default(),
            spectral_weight: 0.0,
            quiet_places: Vec::new(),
            least_mean_db: None,
            least_reach_db: None,
            most_closing_force_n: None,
            most_mass_kg: None,
            building_stack: None,
            sight_lines: Vec::new(),
            cabinet_range: None,
            gains_db: Vec::new(),
        }
    }
}

impl Goals {
    /// Numbers of the third octaves of the per-band measure, 0 at 1 kHz.
    #[must_use]
    pub fn bands(&self) -> Vec<i32> {
        let number = |hz: f64| (10.0 * (hz / 1000.0).log10()).round() as i32;
        (number(self.lowest_hz)..=number(self.highest_hz)).collect()
    }

    /// Their weights.
    #[must_use]
    pub fn band_weights(&self) -> Vec<f64> {
        if self.band_weight.is_empty() {
            vec![1.0; self.bands().len()]
        } else {
            self.band_weight.clone()
        }
    }

    fn check_bands(&self) -> Result<()> {
        // The outer edges of the bands of 20 Hz and 20 kHz, IEC 61260-1:2014.
        within_range("lowest_hz", self.lowest_hz, 17.8, 22_387.0)?;
        within_range("highest_hz", self.highest_hz, self.lowest_hz, 22_387.0)?;
        let bands = self.bands().len();
        accept(
            self.band_weight.is_empty() || self.band_weight.len() == bands,
            "band_weight",
            format!("{:?}", self.band_weight),
            format!("none, or {bands} weights, one for each band"),
        )?;
        each("band_weight", &self.band_weight, non_negative)?;
        accept(
            self.band_weights().iter().any(|weight| *weight > 0.0),
            "band_weight",
            format!("{:?}", self.band_weight),
            "one above 0",
        )
        .map(drop)
    }
}

/// A place that shall stay quieter than the seats: a stage, a foyer, a neighbour's window.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct QuietPlace {
    /// Name printed on sheets.
    pub name: String,
    /// The place, `[x, y, z]` in room axes.
    pub place_m: [f64; 3],
    /// Its greatest level over the mean of the seats.
    pub most_db: f64,
}

/// A line of sight in the vertical plane of the hang.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SightLine {
    /// Name printed on sheets.
    pub name: String,
    /// Where one looks from, `[x, z]`.
    pub from_m: Point,
    /// What one shall see, `[x, z]`.
    pub to_m: Point,
}

impl Check for Goals {
    fn check(&self) -> Result<()> {
        self.check_bands()?;
        for (field, price) in [
            ("level_price", self.level_price),
            ("roughness_price", self.roughness_price),
            ("off_seats_price", self.off_seats_price),
            ("spectral_weight", self.spectral_weight),
        ] {
            within_range(field, price, 0.0, 100.0)?;
        }
        if let Some(level) = self.most_off_seats_db {
            finite("most_off_seats_db", level)?;
        }
        for (index, place) in self.off_seats_m.iter().enumerate() {
            each(&format!("off_seats_m[{index}]"), place, finite)?;
        }
        super::check_parts("wanted", &self.wanted)?;
        super::check_parts("quiet_places", &self.quiet_places)?;
        for (field, level) in [
            ("least_mean_db", self.least_mean_db),
            ("least_reach_db", self.least_reach_db),
        ] {
            if let Some(level) = level {
                finite(field, level)?;
            }
        }
        check_limit("most_closing_force_n", self.most_closing_force_n)?;
        if let Some(mass) = self.most_mass_kg {
            positive("most_mass_kg", mass)?;
        }
        if let Some(stack) = self.building_stack {
            accept(stack > 0, "building_stack", stack, "a whole number above 0")?;
        }
        super::check_parts("sight_lines", &self.sight_lines)?;
        if let Some([fewest, most]) = self.cabinet_range {
            accept(
                fewest > 0,
                "cabinet_range[0]",
                fewest,
                "a whole number above 0",
            )?;
            accept(
                most >= fewest,
                "cabinet_range[1]",
                most,
                format!("a whole number of at least {fewest}"),
            )?;
        }
        each("gains_db", &self.gains_db, |field, gain| {
            within_range(field, gain, -60.0, 20.0)
        })
    }
}

impl Check for WantedLevel {
    fn check(&self) -> Result<()> {
        accept(
            !self.level_db.is_empty(),
            "level_db",
            "[]",
            "one level, or one at each corner of the block's floor line",
        )?;
        each("level_db", &self.level_db, |field, level| {
            within_range(field, level, -100.0, 100.0)
        })
    }
}

impl Check for QuietPlace {
    fn check(&self) -> Result<()> {
        each("place_m", &self.place_m, finite)?;
        finite("most_db", self.most_db).map(drop)
    }
}

impl Check for SightLine {
    fn check(&self) -> Result<()> {
        check_point("from_m", self.from_m)?;
        check_point("to_m", self.to_m)
    }
}
