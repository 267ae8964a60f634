//! Versioned, lossless JSON: `{"kind": "hang", "version": 1, "value": {…}}`.
//!
//! Numbers are written with the shortest digits that read back to the same bits. Unknown fields
//! are refused by name, and so is a field that stands there twice, or a list in a record's place.

use super::by_name::ByName;
use super::{Air, Check, Hang, Study, Valid, Venue};
use crate::error::{InputError, Result, accept};
use serde::de::{DeserializeOwned, IgnoredAny};
use serde::{Deserialize, Deserializer, Serialize};

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

/// What the file says of itself; reading it checks the syntax of the whole file.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Header {
    kind: String,
    version: u64,
    #[serde(rename = "value")]
    _value: IgnoredAny,
}

#[derive(Deserialize)]
struct Body<T> {
    value: T,
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
    let mut input = serde_json::Deserializer::from_str(text);
    let header = Header::deserialize(ByName(&mut input));
    let header = header
        .and_then(|header| input.end().map(|()| header))
        .map_err(|error| InputError::new("json", error, "a hangarc document"))?;
    if header.kind != T::KIND {
        return Err(InputError::new("kind", header.kind, T::KIND));
    }
    let newest = T::VERSION;
    accept(
        header.version <= u64::from(newest),
        "version",
        header.version,
        format_args!("at most {newest}; a newer hangarc wrote this"),
    )?;
    accept(
        header.version > 0,
        "version",
        header.version,
        format_args!("1 to {newest}"),
    )?;
    let mut input = serde_json::Deserializer::from_str(text);
    let body: Body<T> = typed(ByName(&mut input)).map_err(|error| match error.field.as_str() {
        "value" => error, // all of it is of another kind
        _ => error.without("value"),
    })?;
    Valid::new(body.value)
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
        let message = error.inner().to_string();
        // The place in the file, of use in a syntax error only.
        let message = message
            .rsplit_once(" at line ")
            .map_or(message.as_str(), |(message, _)| message);
        refusal(path, message)
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
    for (form, value, allowed) in [
        (
            "missing field `",
            "nothing",
            "a value; the field is required",
        ),
        ("duplicate field `", "given twice", "one value"),
    ] {
        if let Some(rest) = message.strip_prefix(form) {
            let name = rest.split('`').next().unwrap_or(rest);
            // The path of a doubled field ends with that field, that of a missing one does not.
            let parent = path.strip_suffix(name).unwrap_or(path);
            let field = if parent.is_empty() || parent.ends_with('.') {
                format!("{parent}{name}")
            } else {
                format!("{parent}.{name}")
            };
            return InputError::new(&field, value, allowed);
        }
    }
    for form in ["invalid type: ", "invalid value: ", "invalid length "] {
        if let Some((value, expected)) = message
            .strip_prefix(form)
            .and_then(|rest| rest.split_once(", expected "))
        {
            let value = if value == "sequence" { "a list" } else { value };
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
        record if record.starts_with("struct ") => "fields by their names",
        other => other,
    }
}
