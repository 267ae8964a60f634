//! Versioned, lossless JSON: `{"kind": "hang", "version": 1, "value": {…}}`.
//!
//! Numbers are written with the shortest digits that read back to the same bits. Unknown fields
//! are refused by name, and so is a field that stands there twice, or a list in a record's place.

use super::tree::Tree;
use super::{Air, Check, Hang, Study, Valid, Venue};
use crate::error::{InputError, Result, accept};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

/// A type that is stored as a file of its own.
pub trait Document: Check + Serialize + DeserializeOwned {
    /// What the file says it is.
    const KIND: &'static str;
    /// The version this library writes, the newest it reads; it reads the earlier ones too.
    const VERSION: u32 = 1;
}

impl Document for Air {
    const KIND: &'static str = "air";
}

impl Document for Hang {
    const KIND: &'static str = "hang";
}

impl Document for Venue {
    const KIND: &'static str = "venue";
}

impl Document for Study {
    const KIND: &'static str = "study";
    /// In version 1 the goals' `quiet_places` were named `ceilings`.
    const VERSION: u32 = 2;
}

#[derive(Serialize)]
struct Written<'a, T> {
    kind: &'a str,
    version: u32,
    value: &'a T,
}

/// What the file says of itself, and what it holds.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Read {
    kind: String,
    version: u64,
    value: Tree,
}

/// Longer texts are not read: a hang of a thousand cabinets takes about a megabyte.
const MOST_BYTES: usize = 64 << 20;

/// Writes a valid document.
///
/// # Panics
/// Never: valid data holds only finite numbers and string keys, which JSON can write.
#[must_use]
pub fn to_json<T: Document>(document: &Valid<T>) -> String {
    let written = Written {
        kind: T::KIND,
        version: T::VERSION,
        value: &**document,
    };
    serde_json::to_string_pretty(&written).unwrap_or_default()
}

/// JSON Schema of the files of a kind: which fields there are, of what type, and what they mean.
///
/// Bounds are not in it: what a schema lets through is still checked on reading.
#[cfg(feature = "schema")]
#[must_use]
pub fn schema<T: Document + schemars::JsonSchema>() -> serde_json::Value {
    let mut generator = schemars::generate::SchemaSettings::draft2020_12().into_generator();
    let value = generator.subschema_for::<T>();
    serde_json::json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": format!("hangarc-{}-{}.json", T::KIND, T::VERSION),
        "title": format!("hangarc {}, version {}", T::KIND, T::VERSION),
        "type": "object",
        "properties": {
            "kind": { "const": T::KIND },
            "version": { "const": T::VERSION },
            "value": value,
        },
        "required": ["kind", "version", "value"],
        "additionalProperties": false,
        "$defs": generator.take_definitions(true),
    })
}

/// Reads and checks a document.
///
/// # Errors
/// Not JSON, longer than 64 MiB, another kind or a newer version, an unknown, doubled or missing
/// field, a wrong type, or a value out of bounds.
pub fn from_json<T: Document>(text: &str) -> Result<Valid<T>> {
    accept(
        text.len() <= MOST_BYTES,
        "json",
        format_args!("{} bytes", text.len()),
        format_args!("at most {MOST_BYTES} bytes"),
    )?;
    let tree: Tree = serde_json::from_str(text)
        .map_err(|error| InputError::new("json", error, "a hangarc document"))?;
    let read: Read = tree.typed().map_err(|error| error.or_field("json"))?;
    if read.kind != T::KIND {
        return Err(InputError::new("kind", read.kind, T::KIND));
    }
    let newest = T::VERSION;
    accept(
        read.version <= u64::from(newest),
        "version",
        read.version,
        format_args!("at most {newest}; a newer hangarc wrote this"),
    )?;
    accept(
        read.version > 0,
        "version",
        read.version,
        format_args!("1 to {newest}"),
    )?;
    let value = read
        .value
        .typed()
        .map_err(|error| error.or_field("value"))?;
    Valid::new(value)
}
