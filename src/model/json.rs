//! Versioned, lossless JSON: `{"kind": "hang", "version": 1, "value": {…}}`.
//!
//! Numbers are written with the shortest digits that read back to the same bits. Unknown fields
//! are refused by name.

use super::{Air, Check, Hang, Study, Valid, Venue};
use crate::error::{InputError, Result};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer, Serialize};

/// A type that is stored as a file of its own.
pub trait Document: Check + Serialize + DeserializeOwned {
    /// What the file says it is.
    const KIND: &'static str;
    /// The version this library writes, and the only one it reads.
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
}

#[derive(Serialize)]
struct Written<'a, T> {
    kind: &'a str,
    version: u32,
    value: &'a T,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Read {
    kind: String,
    version: u32,
    value: serde_json::Value,
}

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

/// Reads and checks a document.
///
/// # Errors
/// Not JSON, another kind or version, an unknown or missing field, a wrong type, or a value out
/// of bounds.
pub fn from_json<T: Document>(text: &str) -> Result<Valid<T>> {
    let read: Read = serde_json::from_str(text)
        .map_err(|error| InputError::new("json", error, "a hangarc document"))?;
    if read.kind != T::KIND {
        return Err(InputError::new("kind", read.kind, T::KIND));
    }
    if read.version != T::VERSION {
        return Err(InputError::new("version", read.version, T::VERSION));
    }
    Valid::new(typed(read.value)?)
}

/// Gives `input` the type `T`, turning a failure into an error with the path of the field.
///
/// # Errors
/// An unknown or missing field, or a value of the wrong type.
pub fn typed<'de, T, D>(input: D) -> Result<T>
where
    T: Deserialize<'de>,
    D: Deserializer<'de>,
{
    serde_path_to_error::deserialize(input).map_err(|error| {
        let path = error.path().to_string();
        let path = if path == "." { "" } else { path.as_str() };
        refusal(path, &error.inner().to_string())
    })
}

/// Reads field, value and what is allowed out of serde's message, whose forms are fixed by
/// `serde::de::Error`.
fn refusal(path: &str, message: &str) -> InputError {
    if let Some(rest) = message.strip_prefix("unknown field `")
        && let Some((name, expected)) = rest.split_once("`, expected ")
    {
        // serde_path_to_error ends the path of an unknown field with that field.
        let parent = path.strip_suffix(name).unwrap_or(path);
        return InputError::new(
            &format!("{parent}{name}"),
            "an unknown field",
            format!("the fields {}", expected.trim_start_matches("one of ")),
        );
    }
    if let Some(rest) = message.strip_prefix("missing field `") {
        let name = rest.split('`').next().unwrap_or(rest);
        let field = if path.is_empty() {
            name.to_owned()
        } else {
            format!("{path}.{name}")
        };
        return InputError::new(&field, "nothing", "a value; the field is required");
    }
    for form in ["invalid type: ", "invalid value: ", "invalid length "] {
        if let Some((value, expected)) = message
            .strip_prefix(form)
            .and_then(|rest| rest.split_once(", expected "))
        {
            return InputError::new(path, value, plain_type(expected));
        }
    }
    if let Some((value, expected)) = message
        .strip_prefix("unknown variant ")
        .and_then(|rest| rest.split_once(", expected "))
    {
        return InputError::new(path, value, expected);
    }
    InputError::new(path, message, "a value of the field's type")
}

fn plain_type(expected: &str) -> &str {
    match expected {
        "f64" => "a number",
        "u32" | "usize" => "a whole number of at least 0",
        other => other,
    }
}
