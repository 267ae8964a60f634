//! How far does a heavy chain leg sag, and how hard does it pull at its ends?
//!
//! An inextensible line of weight w per metre hangs as y = a cosh(x/a), a = H/w with H the
//! horizontal pull, the same all along. With x̂ = span/2a and b = asinh(rise / (2a sinh x̂)) its
//! ends lie at u = b ∓ x̂ and: length = 2a cosh b sinh x̂, rise = 2a sinh b sinh x̂,
//! pull = w a cosh u. For a given length, sinh x̂ / x̂ = √(length² − rise²)/span.
//!
//! Source: the catenary, e.g. Irvine, *Cable Structures* (1981), ch. 1.

use crate::error::{LARGEST, Result, accept, finite, positive};

/// A length reached to this share of itself is reached.
const LENGTH_REACHED: f64 = 1e-9;

/// How the line was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineEnd {
    /// With the length or pull asked for.
    Found,
    /// Its length is not the one asked for, by more than rounding.
    OtherLength,
}

impl LineEnd {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Found => "found",
            Self::OtherLength => "other length",
        }
    }
}

/// A heavy line between two points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Catenary {
    /// How it was found.
    pub end: LineEnd,
    /// Length along the line.
    pub length_m: f64,
    /// Horizontal part of the pull.
    pub horizontal_n: f64,
    /// Vertical pull of the line on its start and its end, positive down.
    pub vertical_n: [f64; 2],
    /// Pull at its start and its end.
    pub force_n: [f64; 2],
    /// Greatest plumb distance between the chord and the line.
    pub sag_m: f64,
    /// How far the line's length is from the one asked for, over it; 0 where a pull was asked for.
    pub residual: f64,
}

/// The line of given `length_m`, `span_m` across and `rise_m` up from start to end.
///
/// # Errors
/// A span or weight not above zero, or a line not longer than its chord.
pub fn catenary_of_length(
    span_m: f64,
    rise_m: f64,
    length_m: f64,
    weight_n_m: f64,
) -> Result<Catenary> {
    check(span_m, rise_m, weight_n_m)?;
    positive("length_m", length_m)?;
    let chord_m = span_m.hypot(rise_m);
    accept(
        length_m > chord_m,
        "length_m",
        length_m,
        format!("longer than the chord of {chord_m} m"),
    )?;
    let excess = (length_m - chord_m) * (length_m + chord_m) / (span_m * span_m);
    let ratio_less_one = excess / (1.0 + (1.0 + excess).sqrt());
    let a_m = span_m / (2.0 * half_width(ratio_less_one));
    let line = shape(span_m, rise_m, a_m, weight_n_m);
    accept(
        line.force_n.iter().all(|force| force.is_finite()) && line.sag_m.is_finite(),
        "length_m",
        length_m,
        format!("not so much longer than the chord of {chord_m} m that the pull is lost"),
    )?;
    let residual = (line.length_m - length_m).abs() / length_m;
    let end = if residual <= LENGTH_REACHED {
        LineEnd::Found
    } else {
        LineEnd::OtherLength
    };
    Ok(Catenary {
        end,
        residual,
        ..line
    })
}

/// The line that pulls with `horizontal_n`, `span_m` across and `rise_m` up from start to end.
///
/// # Errors
/// A span, weight or pull not above zero, or a pull so small that the line's length is none.
pub fn catenary_of_pull(
    span_m: f64,
    rise_m: f64,
    horizontal_n: f64,
    weight_n_m: f64,
) -> Result<Catenary> {
    check(span_m, rise_m, weight_n_m)?;
    positive("horizontal_n", horizontal_n)?;
    let line = shape(span_m, rise_m, horizontal_n / weight_n_m, weight_n_m);
    accept(
        line.length_m <= LARGEST && line.sag_m <= LARGEST,
        "horizontal_n",
        horizontal_n,
        "enough to hold the line up",
    )?;
    Ok(line)
}

fn check(span_m: f64, rise_m: f64, weight_n_m: f64) -> Result<()> {
    positive("span_m", span_m)?;
    finite("rise_m", rise_m)?;
    positive("weight_n_m", weight_n_m).map(drop)
}

fn shape(span_m: f64, rise_m: f64, a_m: f64, weight_n_m: f64) -> Catenary {
    let half = span_m / (2.0 * a_m);
    let middle = (rise_m / (2.0 * a_m * half.sinh())).asinh();
    let (start, end) = (middle - half, middle + half);
    let horizontal_n = weight_n_m * a_m;
    let lowest = (rise_m / span_m).asinh();
    let below_start = 2.0 * ((start + lowest) / 2.0).sinh() * ((start - lowest) / 2.0).sinh();
    Catenary {
        end: LineEnd::Found,
        length_m: 2.0 * a_m * middle.cosh() * half.sinh(),
        horizontal_n,
        vertical_n: [-horizontal_n * start.sinh(), horizontal_n * end.sinh()],
        force_n: [horizontal_n * start.cosh(), horizontal_n * end.cosh()],
        sag_m: a_m * (below_start + rise_m / span_m * (lowest - start)),
        residual: 0.0,
    }
}

/// The x̂ > 0 with sinh x̂ / x̂ = 1 + `ratio_less_one`, by Newton's method from above.
fn half_width(ratio_less_one: f64) -> f64 {
    let ratio = 1.0 + ratio_less_one;
    let mut x = (6.0 * ratio_less_one)
        .sqrt()
        .min(1.0 + 2.0 * (2.0 * ratio).ln());
    for _ in 0..100 {
        let step = (sinh_less(x) - ratio_less_one * x) / (cosh_less_one(x) - ratio_less_one);
        x -= step;
        if step.abs() <= 1e-16 * x {
            break;
        }
    }
    x
}

/// sinh x − x, without cancellation for small x.
fn sinh_less(x: f64) -> f64 {
    if x > 0.5 {
        return x.sinh() - x;
    }
    let square = x * x;
    let mut term = x;
    let mut sum = 0.0;
    for order in 1..12 {
        let n = 2.0 * f64::from(order);
        term *= square / (n * (n + 1.0));
        sum += term;
    }
    sum
}

/// cosh x − 1 = 2 sinh²(x/2).
fn cosh_less_one(x: f64) -> f64 {
    2.0 * (x / 2.0).sinh().powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    #[test]
    fn a_taut_line_sags_like_the_parabola() {
        let line = catenary_of_pull(10.0, 0.0, 1e6, 20.0).unwrap();
        assert_relative_eq!(line.sag_m, 20.0 * 100.0 / (8.0 * 1e6), max_relative = 1e-8);
    }

    #[test]
    fn a_line_no_longer_than_its_chord_is_refused() {
        assert_eq!(
            catenary_of_length(3.0, 4.0, 5.0, 1.0).unwrap_err().field,
            "length_m"
        );
    }

    #[test]
    fn a_pull_that_holds_up_no_line_of_this_world_is_refused() {
        let error = catenary_of_pull(18.7, 0.0, 3.2, 25.0).unwrap_err();
        assert_eq!(error.field, "horizontal_n");
    }

    proptest! {
        #[test]
        fn ends_carry_the_weight_and_the_length_gives_the_pull_back(
            span in 0.1..30.0f64, rise in -20.0..20.0f64, pull in 1.0..1e5f64,
        ) {
            let weight = 25.0;
            prop_assume!(span * weight / pull < 60.0);
            let line = catenary_of_pull(span, rise, pull, weight).unwrap();
            let carried = line.vertical_n[0] + line.vertical_n[1];
            let whole = weight * line.length_m;
            prop_assert!((carried - whole).abs() < 1e-10 * whole);
            prop_assume!(line.length_m / span.hypot(rise) - 1.0 > 1e-9);
            let again = catenary_of_length(span, rise, line.length_m, weight).unwrap();
            prop_assert!((again.horizontal_n / pull - 1.0).abs() < 1e-5);
            prop_assert!(again.end == LineEnd::Found && again.residual < 1e-9);
        }
    }
}
