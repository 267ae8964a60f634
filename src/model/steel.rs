//! What hangs on a column besides cabinets and frames: steel by the piece, cables by the metre.

use super::{Check, Point, check_point};
use crate::error::{Result, accept, finite, non_negative};
use serde::{Deserialize, Serialize};

/// What carries a piece.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Carrier {
    /// The fly frame.
    #[default]
    Frame,
    /// A cabinet.
    Cabinet,
    /// The bottom frame.
    Bottom,
}

/// A piece of steel or anything else that hangs on one body.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Piece {
    /// Name printed on sheets.
    pub name: String,
    /// Mass.
    pub mass_kg: f64,
    /// Its centre of gravity in the axes of what carries it, `[x, z]`.
    pub at_m: Point,
    /// What carries it.
    #[serde(default)]
    pub on: Carrier,
    /// Which cabinet, from 0, where one carries it.
    #[serde(default)]
    pub cabinet: Option<usize>,
}

/// A cable or rope that runs along the cabinets, each carrying what is as long as its height.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Run {
    /// Name printed on sheets.
    pub name: String,
    /// Mass per metre.
    pub mass_kg_m: f64,
    /// Where it runs, forward of the cabinets' front faces; behind them negative.
    pub x_m: f64,
    /// First cabinet, from 0.
    #[serde(default)]
    pub first: usize,
    /// Last cabinet; `None` is the lowest.
    #[serde(default)]
    pub last: Option<usize>,
}

impl Check for Piece {
    fn check(&self) -> Result<()> {
        non_negative("mass_kg", self.mass_kg)?;
        check_point("at_m", self.at_m)?;
        let (fits, allowed) = match self.on {
            Carrier::Cabinet => (
                self.cabinet.is_some(),
                "the number of the cabinet that carries it",
            ),
            _ => (self.cabinet.is_none(), "None, where no cabinet carries it"),
        };
        let shown = self
            .cabinet
            .map_or("None".to_owned(), |cabinet| cabinet.to_string());
        accept(fits, "cabinet", shown, allowed).map(drop)
    }
}

impl Check for Run {
    fn check(&self) -> Result<()> {
        non_negative("mass_kg_m", self.mass_kg_m)?;
        finite("x_m", self.x_m)?;
        if let Some(last) = self.last {
            accept(
                last >= self.first,
                "last",
                last,
                format!("at least the first, {}", self.first),
            )?;
        }
        Ok(())
    }
}
