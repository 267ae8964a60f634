//! A balloon in a document: its grids as numbers, its values packed, as there are many thousands.

use super::directivity::Balloon;
use super::measured::Measured;
use crate::error::{InputError, Result};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use nalgebra::Complex;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::sync::{Arc, Mutex, PoisonError, Weak};

/// `response` is base64 of the little-endian binary64 numbers, real and imaginary part in turn.
#[derive(Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
struct Written {
    frequency_hz: Vec<f64>,
    azimuth_deg: Vec<f64>,
    elevation_deg: Vec<f64>,
    response: String,
}

impl From<Balloon> for Written {
    fn from(balloon: Balloon) -> Self {
        let Measured {
            frequency_hz,
            azimuth_deg,
            elevation_deg,
            response,
        } = balloon.measured;
        let parts = response.iter().flat_map(|value| [value.re, value.im]);
        let bytes: Vec<u8> = parts.flat_map(f64::to_le_bytes).collect();
        Self {
            frequency_hz,
            azimuth_deg,
            elevation_deg,
            response: STANDARD.encode(bytes),
        }
    }
}

impl Serialize for Balloon {
    fn serialize<S: Serializer>(&self, output: S) -> std::result::Result<S::Ok, S::Error> {
        Written::from(self.clone()).serialize(output)
    }
}

impl<'de> Deserialize<'de> for Balloon {
    fn deserialize<D: Deserializer<'de>>(input: D) -> std::result::Result<Self, D::Error> {
        Written::deserialize(input)?
            .try_into()
            .map_err(serde::de::Error::custom)
    }
}

/// As in a document.
#[cfg(feature = "schema")]
impl schemars::JsonSchema for Balloon {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Balloon".into()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        Written::json_schema(generator)
    }
}

impl TryFrom<Written> for Balloon {
    type Error = InputError;

    fn try_from(written: Written) -> Result<Self> {
        let bytes = STANDARD
            .decode(&written.response)
            .map_err(|error| InputError::new("response", error, "base64 of binary64 numbers"))?;
        let numbers = bytes.chunks_exact(16).map(|pair| {
            let part = |from: usize| {
                let mut eight = [0; 8];
                eight.copy_from_slice(&pair[from..from + 8]);
                f64::from_le_bytes(eight)
            };
            Complex::new(part(0), part(8))
        });
        Self::new(
            written.frequency_hz,
            written.azimuth_deg,
            written.elevation_deg,
            numbers.collect(),
        )
    }
}

/// Balloons in use. The cabinets of a hang mostly hold the same one, and checking it takes longer than
/// finding it here.
static IN_USE: Mutex<Vec<(Weak<Balloon>, u64)>> = Mutex::new(Vec::new());

/// One balloon for all cabinets that hold the same.
pub(in crate::model) fn shared<'de, D: Deserializer<'de>>(
    input: D,
) -> std::result::Result<Option<Arc<Balloon>>, D::Error> {
    let Some(written) = Option::<Written>::deserialize(input)? else {
        return Ok(None);
    };
    let key = written.key();
    let known = {
        let mut in_use = IN_USE.lock().unwrap_or_else(PoisonError::into_inner);
        in_use.retain(|(balloon, _)| balloon.strong_count() > 0);
        let alike = in_use.iter().filter(|(_, other)| *other == key);
        alike
            .filter_map(|(balloon, _)| balloon.upgrade())
            .find(|balloon| Written::from((**balloon).clone()).is(&written))
    };
    if let Some(known) = known {
        return Ok(Some(known));
    }
    let balloon = Arc::new(Balloon::try_from(written).map_err(serde::de::Error::custom)?);
    let mut in_use = IN_USE.lock().unwrap_or_else(PoisonError::into_inner);
    in_use.push((Arc::downgrade(&balloon), key));
    Ok(Some(balloon))
}

/// Writes it as a document has it.
pub(in crate::model) fn write<S: Serializer>(
    balloon: &Option<Arc<Balloon>>,
    output: S,
) -> std::result::Result<S::Ok, S::Error> {
    balloon.as_deref().serialize(output)
}

impl Written {
    fn key(&self) -> u64 {
        use std::hash::{DefaultHasher, Hasher};
        let mut hasher = DefaultHasher::new();
        hasher.write(self.response.as_bytes());
        hasher.finish()
    }

    fn is(&self, other: &Self) -> bool {
        self.response == other.response
            && self.frequency_hz == other.frequency_hz
            && self.azimuth_deg == other.azimuth_deg
            && self.elevation_deg == other.elevation_deg
    }
}
