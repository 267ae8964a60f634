//! What is wanted of a hang besides even levels, as data.

use super::{Check, Point, check_limit, check_point};
use crate::error::{Result, accept, each, finite, positive, within_range};
use serde::{Deserialize, Serialize};

/// Wishes and bounds of a splay search; the default asks for evenness alone.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Goals {
    /// How much a decibel of spectral spread counts against a decibel of evenness.
    #[serde(default)]
    pub spectral_weight: f64,
    /// Places that shall stay quieter than the seats.
    #[serde(default)]
    pub ceilings: Vec<Ceiling>,
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

/// A place that shall stay quieter than the seats: a stage, a ceiling, a neighbour's window.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ceiling {
    /// Name printed on sheets.
    pub name: String,
    /// The place, `[x, y, z]` in room axes.
    pub place_m: [f64; 3],
    /// Its greatest level over the mean of the seats.
    pub most_db: f64,
}

/// A line of sight in the vertical plane of the hang.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
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
        within_range("spectral_weight", self.spectral_weight, 0.0, 100.0)?;
        super::check_parts("ceilings", &self.ceilings)?;
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

impl Check for Ceiling {
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
