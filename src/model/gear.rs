//! The chain and lever hoist that close a compression hang.

use super::{Check, check_limit};
use crate::error::{Result, accept, non_negative, positive};
use serde::{Deserialize, Serialize};

/// A chain of whole links, shortened by a clutch, in line with a lever hoist.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ClosingGear {
    /// Inner length of one link (round-link chain pitch, EN 818-7).
    pub pitch_m: f64,
    /// Number of links of the whole chain.
    pub links: u32,
    /// Length of the lever hoist between its hooks when fully shortened.
    pub hoist_min_m: f64,
    /// Length of the lever hoist between its hooks when fully drawn out.
    pub hoist_max_m: f64,
    /// Band of force in which the slip clutch slips, `[low, high]`.
    #[serde(default)]
    pub clutch_n: Option<[f64; 2]>,
    /// Mass per metre of the chain.
    #[serde(default)]
    pub chain_mass_kg_m: f64,
    /// Mass of the lever hoist.
    #[serde(default)]
    pub hoist_mass_kg: f64,
    /// Mass of the bypass chain with its fittings, beside the closing chain.
    #[serde(default)]
    pub bypass_mass_kg: f64,
    /// The end of the chain at which the lever hoist and the chain left over hang.
    #[serde(default)]
    pub hoist_end: HoistEnd,
    /// Stated limits.
    #[serde(default)]
    pub limits: ClosingGearLimits,
}

/// An end of the closing chain.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum HoistEnd {
    /// At the fly frame.
    Upper,
    /// At the bottom frame.
    #[default]
    Lower,
}

impl ClosingGear {
    /// Whether any of its masses is stated.
    #[must_use]
    pub fn has_mass(&self) -> bool {
        self.chain_mass_kg_m > 0.0 || self.hoist_mass_kg > 0.0 || self.bypass_mass_kg > 0.0
    }
}

/// Stated limits of the closing gear.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct ClosingGearLimits {
    /// The chain with its fittings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chain_n: Option<f64>,
    /// The lever hoist.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hoist_n: Option<f64>,
}

/// More links in one chain are taken for a slip of the pen.
const MOST_LINKS: u32 = 100_000;

impl Check for ClosingGear {
    fn check(&self) -> Result<()> {
        positive("pitch_m", self.pitch_m)?;
        accept(
            (1..=MOST_LINKS).contains(&self.links),
            "links",
            self.links,
            format_args!("a whole number from 1 to {MOST_LINKS}"),
        )?;
        positive("hoist_min_m", self.hoist_min_m)?;
        positive("hoist_max_m", self.hoist_max_m)?;
        accept(
            self.hoist_max_m > self.hoist_min_m,
            "hoist_max_m",
            self.hoist_max_m,
            format!("above hoist_min_m, {}", self.hoist_min_m),
        )?;
        non_negative("chain_mass_kg_m", self.chain_mass_kg_m)?;
        non_negative("hoist_mass_kg", self.hoist_mass_kg)?;
        non_negative("bypass_mass_kg", self.bypass_mass_kg)?;
        if let Some([low, high]) = self.clutch_n {
            positive("clutch_n[0]", low)?;
            positive("clutch_n[1]", high)?;
            accept(
                high >= low,
                "clutch_n[1]",
                high,
                format!("at least the lower edge, {low}"),
            )?;
        }
        self.limits.check().map_err(|error| error.within("limits"))
    }
}

impl Check for ClosingGearLimits {
    fn check(&self) -> Result<()> {
        check_limit("chain_n", self.chain_n)?;
        check_limit("hoist_n", self.hoist_n)
    }
}
