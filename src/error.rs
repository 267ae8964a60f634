//! What went wrong with an input: which field, what value, what is allowed.

use std::fmt;

/// An input that a calculation or a type refuses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InputError {
    /// Path of the field from the value being built, e.g. `cabinets[3].mass_kg`.
    pub field: String,
    /// The refused value as text.
    pub value: String,
    /// What would have been accepted.
    pub allowed: String,
}

impl InputError {
    /// Names the refused `field`, its `value` and what is `allowed`.
    pub fn new(field: &str, value: impl fmt::Display, allowed: impl fmt::Display) -> Self {
        Self {
            field: field.to_owned(),
            value: value.to_string(),
            allowed: allowed.to_string(),
        }
    }

    /// The same error seen from the type that holds the field: `mass_kg` within `frame` is
    /// `frame.mass_kg`.
    #[must_use]
    pub fn within(mut self, parent: &str) -> Self {
        self.field = if self.field.is_empty() || self.field.starts_with('[') {
            format!("{parent}{}", self.field)
        } else {
            format!("{parent}.{}", self.field)
        };
        self
    }

    /// The same error seen from within `parent`: the inverse of [`InputError::within`].
    #[must_use]
    pub fn without(mut self, parent: &str) -> Self {
        if let Some(rest) = self.field.strip_prefix(parent)
            && (rest.is_empty() || rest.starts_with(['.', '[']))
        {
            self.field = rest.trim_start_matches('.').to_owned();
        }
        self
    }

    /// The same error of `field`, where it is of no field within.
    #[must_use]
    pub(crate) fn or_field(self, field: &str) -> Self {
        if self.field.is_empty() {
            self.within(field)
        } else {
            self
        }
    }
}

impl fmt::Display for InputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            field,
            value,
            allowed,
        } = self;
        write!(f, "{field} = {value}: allowed is {allowed}")
    }
}

impl std::error::Error for InputError {}

/// Shorthand for results that fail only through their input.
pub type Result<T> = std::result::Result<T, InputError>;

/// No quantity is larger in its SI unit; products of several still stay finite.
pub const LARGEST: f64 = 1e15;

/// No quantity that divides is smaller in its SI unit.
const SMALLEST: f64 = 1e-30;

/// Accepts any finite number of a size up to [`LARGEST`].
///
/// # Errors
/// NaN, infinite or too large.
pub fn finite(field: &str, value: f64) -> Result<f64> {
    accept(value.is_finite(), field, value, "a finite number")?;
    accept(
        value.abs() <= LARGEST,
        field,
        value,
        format_args!("of a size up to {LARGEST:e}"),
    )
}

/// Accepts a finite number above zero.
///
/// # Errors
/// NaN, infinite, zero or negative; too large, or too small to divide by.
pub fn positive(field: &str, value: f64) -> Result<f64> {
    accept(
        value.is_finite() && value > 0.0,
        field,
        value,
        "a finite number above 0",
    )?;
    accept(
        (SMALLEST..=LARGEST).contains(&value),
        field,
        value,
        format_args!("from {SMALLEST:e} to {LARGEST:e}"),
    )
}

/// Accepts a finite number of at least zero.
///
/// # Errors
/// NaN, infinite, negative or too large.
pub fn non_negative(field: &str, value: f64) -> Result<f64> {
    accept(
        value.is_finite() && value >= 0.0,
        field,
        value,
        "a finite number of at least 0",
    )?;
    finite(field, value)
}

/// Accepts a finite number in the closed interval `low ..= high`.
///
/// # Errors
/// NaN or outside the interval.
pub fn within_range(field: &str, value: f64, low: f64, high: f64) -> Result<f64> {
    accept(
        (low..=high).contains(&value),
        field,
        value,
        format_args!("a number from {low} to {high}"),
    )
}

/// Accepts `value` when `ok` holds.
///
/// # Errors
/// `ok` is false.
pub fn accept<T: fmt::Display>(
    ok: bool,
    field: &str,
    value: T,
    allowed: impl fmt::Display,
) -> Result<T> {
    if ok {
        Ok(value)
    } else {
        Err(InputError::new(field, value, allowed))
    }
}

/// Checks each number of a list, naming the refused one by its index.
///
/// # Errors
/// Whatever `check` refuses.
pub fn each(field: &str, values: &[f64], check: impl Fn(&str, f64) -> Result<f64>) -> Result<()> {
    for (index, &value) in values.iter().enumerate() {
        // The name is made only where it is needed: lists can be long.
        if check(field, value).is_err() {
            check(&format!("{field}[{index}]"), value)?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_names_field_value_and_what_is_allowed() {
        let error = positive("mass_kg", -3.0).unwrap_err().within("cabinets[2]");
        assert_eq!(
            error.to_string(),
            "cabinets[2].mass_kg = -3: allowed is a finite number above 0"
        );
    }

    #[test]
    fn nan_is_refused_by_every_check() {
        for check in [finite, positive, non_negative] {
            assert!(check("x", f64::NAN).is_err());
        }
        assert!(within_range("x", f64::NAN, 0.0, 1.0).is_err());
        assert!(each("x", &[0.0, f64::NAN], finite).is_err());
    }
}
