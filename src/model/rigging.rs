//! How the rear of a hang is held.

use serde::{Deserialize, Serialize};

/// What the rear of a joint can carry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "lowercase")]
pub enum Rigging {
    /// Rear links pinned at both ends, carrying tension and compression.
    Tension,
    /// Rear stops, carrying compression only, closed by a chain.
    Compression,
}

impl Rigging {
    /// The name used in files and at the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Tension => "tension",
            Self::Compression => "compression",
        }
    }
}
