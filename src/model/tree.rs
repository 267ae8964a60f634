//! Plain data before it has a type: a document as it was read, or what Python handed over.
//!
//! A type is read from the tree by serde. Where that fails, the [`InputError`] is put together from
//! what serde hands over (the field, the value, what was expected), and each record and list on the
//! way out adds its own step to the path. Fields stand by name: serde would read a record from a list
//! too, its fields by position, and `[]` would then be a record of nothing but defaults.

use crate::error::{InputError, Result};
use serde::de::value::{MapAccessDeserializer, StringDeserializer};
use serde::de::{
    DeserializeOwned, DeserializeSeed, Deserializer, Error, Expected, IntoDeserializer, MapAccess,
    SeqAccess, Unexpected, Visitor,
};
use serde::{Deserialize, forward_to_deserialize_any};
use std::fmt;

/// A value of plain data.
pub enum Tree {
    /// Nothing.
    Nothing,
    /// True or false.
    Truth(bool),
    /// A whole number below zero.
    Below(i64),
    /// A whole number of at least zero.
    Whole(u64),
    /// Any other number.
    Number(f64),
    /// Text.
    Text(String),
    /// Values in their order.
    List(Vec<Tree>),
    /// Values by name, in the order they stand; a name may stand there twice.
    Record(Vec<(String, Tree)>),
    /// What is no plain data, by its description: no type accepts it.
    Other(String),
}

impl Tree {
    /// Gives it the type `T`.
    ///
    /// # Errors
    /// An unknown, doubled or missing field, or a value of the wrong type.
    pub fn typed<T: DeserializeOwned>(self) -> Result<T> {
        T::deserialize(self).map_err(|Refusal(error)| error)
    }
}

/// An [`InputError`] as serde hands it on.
#[derive(Debug)]
pub struct Refusal(InputError);

impl Refusal {
    fn of(value: impl fmt::Display, allowed: impl fmt::Display) -> Self {
        Self(InputError::new("", value, allowed))
    }

    fn within(self, step: &str) -> Self {
        Self(self.0.within(step))
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl std::error::Error for Refusal {}

impl Error for Refusal {
    fn custom<T: fmt::Display>(message: T) -> Self {
        Self::of(message, "a value of the field's type")
    }

    fn invalid_type(value: Unexpected<'_>, expected: &dyn Expected) -> Self {
        Self::of(plain_value(value), plain_type(&expected.to_string()))
    }

    fn invalid_value(value: Unexpected<'_>, expected: &dyn Expected) -> Self {
        Self::invalid_type(value, expected)
    }

    fn invalid_length(length: usize, expected: &dyn Expected) -> Self {
        Self::of(length, plain_type(&expected.to_string()))
    }

    fn unknown_variant(variant: &str, expected: &'static [&'static str]) -> Self {
        Self::of(format_args!("`{variant}`"), one_of(expected))
    }

    fn unknown_field(field: &str, expected: &'static [&'static str]) -> Self {
        let fields = expected.iter().map(|name| format!("`{name}`"));
        let fields = fields.collect::<Vec<_>>().join(", ");
        Self::of("an unknown field", format_args!("the fields {fields}")).within(field)
    }

    fn missing_field(field: &'static str) -> Self {
        Self::of("nothing", "a value; the field is required").within(field)
    }

    fn duplicate_field(field: &'static str) -> Self {
        Self::of("given twice", "one value").within(field)
    }
}

fn one_of(names: &[&str]) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    match names.as_slice() {
        [one] => one.clone(),
        [one, other] => format!("{one} or {other}"),
        _ => format!("one of {}", names.join(", ")),
    }
}

fn plain_value(value: Unexpected<'_>) -> String {
    match value {
        Unexpected::Unit => "null".to_owned(),
        Unexpected::Seq => "a list".to_owned(),
        Unexpected::Map => "fields".to_owned(),
        other => other.to_string(),
    }
}

fn plain_type(expected: &str) -> &str {
    match expected {
        "f64" => "a number",
        "u32" | "usize" => "a whole number of at least 0",
        record if record.starts_with("struct ") => "fields by their names",
        other => other,
    }
}

impl<'de> Deserializer<'de> for Tree {
    type Error = Refusal;

    fn deserialize_any<V: Visitor<'de>>(
        self,
        visitor: V,
    ) -> std::result::Result<V::Value, Refusal> {
        match self {
            Self::Nothing => visitor.visit_unit(),
            Self::Truth(truth) => visitor.visit_bool(truth),
            Self::Below(number) => visitor.visit_i64(number),
            Self::Whole(number) => visitor.visit_u64(number),
            Self::Number(number) => visitor.visit_f64(number),
            Self::Text(text) => visitor.visit_string(text),
            Self::List(items) => visitor.visit_seq(&mut Items::of(items)),
            Self::Record(fields) => visitor.visit_map(Fields::of(fields)),
            Self::Other(what) => Err(Refusal::invalid_type(Unexpected::Other(&what), &visitor)),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(
        self,
        visitor: V,
    ) -> std::result::Result<V::Value, Refusal> {
        match self {
            Self::Nothing => visitor.visit_none(),
            some => visitor.visit_some(some),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        visitor: V,
    ) -> std::result::Result<V::Value, Refusal> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        _fields: &'static [&'static str],
        visitor: V,
    ) -> std::result::Result<V::Value, Refusal> {
        match self {
            Self::List(_) => Err(Refusal::invalid_type(Unexpected::Seq, &visitor)),
            other => other.deserialize_any(visitor),
        }
    }

    /// An array, of which serde itself would leave what is beyond its length unread.
    fn deserialize_tuple<V: Visitor<'de>>(
        self,
        length: usize,
        visitor: V,
    ) -> std::result::Result<V::Value, Refusal> {
        match self {
            Self::List(items) if items.len() > length => {
                Err(Refusal::invalid_length(items.len(), &visitor))
            }
            other => other.deserialize_any(visitor),
        }
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _name: &'static str,
        _variants: &'static [&'static str],
        visitor: V,
    ) -> std::result::Result<V::Value, Refusal> {
        match self {
            Self::Text(name) => visitor.visit_enum(StringDeserializer::new(name)),
            Self::Record(fields) => {
                visitor.visit_enum(MapAccessDeserializer::new(Fields::of(fields)))
            }
            other => other.deserialize_any(visitor),
        }
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 u8 u16 u32 u64 f32 f64 char str string bytes byte_buf unit unit_struct
        seq tuple_struct map identifier ignored_any
    }
}

impl<'de> IntoDeserializer<'de, Refusal> for Tree {
    type Deserializer = Self;

    fn into_deserializer(self) -> Self {
        self
    }
}

struct Items {
    next: usize,
    rest: std::vec::IntoIter<Tree>,
}

impl Items {
    fn of(items: Vec<Tree>) -> Self {
        Self {
            next: 0,
            rest: items.into_iter(),
        }
    }
}

impl<'de> SeqAccess<'de> for Items {
    type Error = Refusal;

    fn next_element_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> std::result::Result<Option<S::Value>, Refusal> {
        let Some(item) = self.rest.next() else {
            return Ok(None);
        };
        let index = self.next;
        self.next += 1;
        let read = seed.deserialize(item);
        read.map(Some)
            .map_err(|refusal| refusal.within(&format!("[{index}]")))
    }

    fn size_hint(&self) -> Option<usize> {
        Some(self.rest.len())
    }
}

struct Fields {
    rest: std::vec::IntoIter<(String, Tree)>,
    begun: Option<(String, Tree)>,
}

impl Fields {
    fn of(fields: Vec<(String, Tree)>) -> Self {
        Self {
            rest: fields.into_iter(),
            begun: None,
        }
    }
}

impl<'de> MapAccess<'de> for Fields {
    type Error = Refusal;

    fn next_key_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> std::result::Result<Option<S::Value>, Refusal> {
        self.begun = self.rest.next();
        let Some((name, _)) = &self.begun else {
            return Ok(None);
        };
        seed.deserialize(name.as_str().into_deserializer())
            .map(Some)
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> std::result::Result<S::Value, Refusal> {
        let Some((name, value)) = self.begun.take() else {
            return Err(Refusal::custom("a value before its name"));
        };
        seed.deserialize(value)
            .map_err(|refusal| refusal.within(&name))
    }
}

impl<'de> Deserialize<'de> for Tree {
    fn deserialize<D: Deserializer<'de>>(input: D) -> std::result::Result<Self, D::Error> {
        input.deserialize_any(Growing)
    }
}

struct Growing;

impl<'de> Visitor<'de> for Growing {
    type Value = Tree;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("plain data")
    }

    fn visit_unit<E: Error>(self) -> std::result::Result<Tree, E> {
        Ok(Tree::Nothing)
    }

    fn visit_bool<E: Error>(self, truth: bool) -> std::result::Result<Tree, E> {
        Ok(Tree::Truth(truth))
    }

    fn visit_i64<E: Error>(self, number: i64) -> std::result::Result<Tree, E> {
        Ok(Tree::Below(number))
    }

    fn visit_u64<E: Error>(self, number: u64) -> std::result::Result<Tree, E> {
        Ok(Tree::Whole(number))
    }

    fn visit_f64<E: Error>(self, number: f64) -> std::result::Result<Tree, E> {
        Ok(Tree::Number(number))
    }

    fn visit_str<E: Error>(self, text: &str) -> std::result::Result<Tree, E> {
        Ok(Tree::Text(text.to_owned()))
    }

    fn visit_string<E: Error>(self, text: String) -> std::result::Result<Tree, E> {
        Ok(Tree::Text(text))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> std::result::Result<Tree, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element()? {
            list.push(item);
        }
        Ok(Tree::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut fields: A) -> std::result::Result<Tree, A::Error> {
        let mut record = Vec::new();
        while let Some(field) = fields.next_entry()? {
            record.push(field);
        }
        Ok(Tree::Record(record))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Debug, Deserialize, PartialEq)]
    #[serde(deny_unknown_fields)]
    struct Outer {
        inner: Vec<Inner>,
        #[serde(default)]
        place_m: [f64; 2],
    }

    #[derive(Debug, Deserialize, PartialEq)]
    #[serde(deny_unknown_fields)]
    struct Inner {
        mass_kg: f64,
        links: Option<u32>,
    }

    fn read(json: &str) -> std::result::Result<Outer, String> {
        let tree: Tree = serde_json::from_str(json).unwrap();
        tree.typed().map_err(|error| error.to_string())
    }

    #[test]
    fn plain_data_takes_a_type() {
        let read = read(r#"{"inner": [{"mass_kg": 2, "links": null}], "place_m": [1.5, -1]}"#);
        let inner = vec![Inner {
            mass_kg: 2.0,
            links: None,
        }];
        let place_m = [1.5, -1.0];
        assert_eq!(read, Ok(Outer { inner, place_m }));
    }

    #[test]
    fn every_refusal_carries_the_path_of_its_field() {
        for (json, expected) in [
            (
                r#"{"inner": [{"mass_kg": "2"}]}"#,
                r#"inner[0].mass_kg = string "2": allowed is a number"#,
            ),
            (
                r#"{"inner": [{"mass_kg": 1, "links": -3}]}"#,
                "inner[0].links = integer `-3`: allowed is a whole number of at least 0",
            ),
            (
                r#"{"inner": [{"mass_kg": 1}, {}]}"#,
                "inner[1].mass_kg = nothing: allowed is a value; the field is required",
            ),
            (
                r#"{"inner": [{"mass_kg": 1, "mass_kg": 2}]}"#,
                "inner[0].mass_kg = given twice: allowed is one value",
            ),
            (
                r#"{"inner": [{"mass": 1}]}"#,
                "inner[0].mass = an unknown field: allowed is the fields `mass_kg`, `links`",
            ),
            (
                r#"{"inner": [[1, 2]]}"#,
                "inner[0] = a list: allowed is fields by their names",
            ),
            (
                r#"{"inner": [], "place_m": [1, 2, 3]}"#,
                "place_m = 3: allowed is an array of length 2",
            ),
            (
                r#"{"inner": [], "place_m": [1]}"#,
                "place_m = 1: allowed is an array of length 2",
            ),
            ("[]", " = a list: allowed is fields by their names"),
        ] {
            assert_eq!(read(json), Err(expected.to_owned()));
        }
    }
}
