//! What does a beam over several supports do to each of them, and how does it bend?
//!
//! Euler–Bernoulli: EI w″ = −M with w downward and M positive where it sags, dM/dx = V,
//! dV/dx = −q. The moments over the inner supports are the unknowns of the force method: every
//! span is a simple beam under its loads and end moments, and the slopes of neighbours agree over
//! their support (the three-moment equation). A support that yields adds δ = settlement + R/k to
//! the chords; a hinge asks for M = 0 and gives its rotation as a multiplier. Reactions follow
//! from the moments by equilibrium alone, so they balance the load whatever the rounding.
//!
//! The integrals over linearly varying loads are polynomials of degree five at most, which three
//! Gauss points give exactly.
//!
//! Source: force method and three-moment equation, any structures textbook, e.g. Timoshenko,
//! *Strength of Materials*, part I, ch. VII.

mod hung;

pub use hung::hung_beam;

pub use super::beam_segment::Load;

use super::beam_segment::{Piece, Segment};
use crate::error::{InputError, Result, accept, each, finite, non_negative, positive};
use nalgebra::{DMatrix, DVector};

/// Supports closer together than this share of the length are one: a load at the beam's end would ask
/// [`crate::equilibrium::tolerances::NO_LEVER`] times itself of them.
const LEAST_SPACING: f64 = 1e-4;

/// Relative stiffness of a hinged beam below which it is a mechanism.
const LEAST_STIFFNESS: f64 = 1e-10;

/// More supports or hinges of one beam are taken for a slip of the pen.
const MOST_SUPPORTS: usize = 200;

/// More loads likewise.
const MOST_LOADS: usize = 1_000_000;

/// A support or hoist of a beam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Support {
    /// Place.
    pub x_m: f64,
    /// How far it lies below the line of the others, unloaded.
    pub settlement_m: f64,
    /// Spring rate; `None` does not yield.
    pub stiffness_n_m: Option<f64>,
}

/// A beam of uniform section.
#[derive(Clone, Debug, PartialEq)]
pub struct BeamInput {
    /// Length; the beam lies from x = 0.
    pub length_m: f64,
    /// Supports, in any order.
    pub supports: Vec<Support>,
    /// Places of hinges between the outermost supports.
    pub hinges_m: Vec<f64>,
    /// Loads.
    pub loads: Vec<Load>,
    /// Weight per metre of the beam itself.
    pub self_weight_n_m: f64,
    /// Bending stiffness.
    pub ei_nm2: f64,
}

/// A beam at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct Beam {
    /// Upward force of each support on the beam, in the order given.
    pub reaction_n: Vec<f64>,
    /// Supports that carry nothing because they only pull.
    pub slack: Vec<bool>,
    /// The total load.
    pub load_n: f64,
    pub(super) length_m: f64,
    pub(super) segments: Vec<Segment>,
}

/// Beam on supports that hold it both ways.
///
/// # Errors
/// A field out of bounds, fewer than two supports, or hinges that make it a mechanism.
pub fn beam(input: &BeamInput) -> Result<Beam> {
    check(input)?;
    let all: Vec<usize> = (0..input.supports.len()).collect();
    solve(input, &all).ok_or_else(|| mechanism(input))
}

/// How many newtons each reaction changes by per metre that support j sinks: row i, column j.
///
/// # Errors
/// As [`beam`].
pub fn settlement_influence_n_m(input: &BeamInput) -> Result<Vec<Vec<f64>>> {
    let mut unloaded = BeamInput {
        loads: Vec::new(),
        self_weight_n_m: 0.0,
        ..input.clone()
    };
    for support in &mut unloaded.supports {
        support.settlement_m = 0.0;
    }
    let count = input.supports.len();
    let mut rows = vec![vec![0.0; count]; count];
    for sunk in 0..count {
        let mut one = unloaded.clone();
        one.supports[sunk].settlement_m = 1.0;
        for (row, reaction) in rows.iter_mut().zip(beam(&one)?.reaction_n) {
            row[sunk] = reaction;
        }
    }
    Ok(rows)
}

/// Share of a load at each of `x_m` that each support carries: one row a place.
///
/// # Errors
/// As [`beam`], or a place off the beam.
pub fn load_influence(input: &BeamInput, x_m: &[f64]) -> Result<Vec<Vec<f64>>> {
    check_places(input.length_m, x_m)?;
    let mut unit = BeamInput {
        self_weight_n_m: 0.0,
        ..input.clone()
    };
    for support in &mut unit.supports {
        support.settlement_m = 0.0;
    }
    x_m.iter()
        .map(|&x_m| {
            unit.loads = vec![Load::Point { x_m, force_n: 1.0 }];
            Ok(beam(&unit)?.reaction_n)
        })
        .collect()
}

/// Accepts places on a beam.
///
/// # Errors
/// A place that is not finite or off the beam.
pub fn check_places(length_m: f64, x_m: &[f64]) -> Result<()> {
    each("x_m", x_m, |field, x| {
        crate::error::within_range(field, x, 0.0, length_m)
    })
}

fn mechanism(input: &BeamInput) -> InputError {
    InputError::new(
        "hinges_m",
        format!("{:?}", input.hinges_m),
        "hinges that leave the beam stable on its supports",
    )
}

fn check(input: &BeamInput) -> Result<()> {
    let length_m = positive("length_m", input.length_m)?;
    let on_beam = |field: &str, x: f64| crate::error::within_range(field, x, 0.0, length_m);
    accept(
        input.supports.len() >= 2,
        "supports_m",
        format!("{} supports", input.supports.len()),
        "at least two supports",
    )?;
    for (field, count, most) in [
        ("supports_m", input.supports.len(), MOST_SUPPORTS),
        ("hinges_m", input.hinges_m.len(), MOST_SUPPORTS),
        ("loads", input.loads.len(), MOST_LOADS),
    ] {
        accept(
            count <= most,
            field,
            format!("{count} of them"),
            format!("at most {most}"),
        )?;
    }
    for (index, support) in input.supports.iter().enumerate() {
        let field = format!("supports_m[{index}]");
        on_beam(&field, support.x_m)?;
        finite(&format!("settlement_m[{index}]"), support.settlement_m)?;
        if let Some(rate) = support.stiffness_n_m {
            positive(&format!("stiffness_n_m[{index}]"), rate)?;
        }
        for (other, earlier) in input.supports[..index].iter().enumerate() {
            accept(
                (support.x_m - earlier.x_m).abs() > LEAST_SPACING * length_m,
                &field,
                support.x_m,
                format!("a place apart from supports_m[{other}]"),
            )?;
        }
    }
    let places = || input.supports.iter().map(|support| support.x_m);
    let first = places().fold(f64::INFINITY, f64::min);
    let last = places().fold(f64::NEG_INFINITY, f64::max);
    for (index, &hinge) in input.hinges_m.iter().enumerate() {
        accept(
            hinge > first && hinge < last,
            &format!("hinges_m[{index}]"),
            hinge,
            "a place between the outermost supports",
        )?;
    }
    for (index, load) in input.loads.iter().enumerate() {
        check_load(load, length_m).map_err(|error| error.within(&format!("loads[{index}]")))?;
    }
    non_negative("self_weight_n_m", input.self_weight_n_m)?;
    positive("ei_nm2", input.ei_nm2).map(drop)
}

fn check_load(load: &Load, length_m: f64) -> Result<()> {
    let on_beam = |field: &str, x: f64| crate::error::within_range(field, x, 0.0, length_m);
    match *load {
        Load::Point { x_m, force_n } => {
            on_beam("x_m", x_m)?;
            finite("force_n", force_n).map(drop)
        }
        Load::Distributed {
            from_m,
            to_m,
            start_n_m,
            end_n_m,
        } => {
            on_beam("from_m", from_m)?;
            on_beam("to_m", to_m)?;
            accept(
                to_m > from_m,
                "to_m",
                to_m,
                format!("a place beyond from_m = {from_m}"),
            )?;
            finite("start_n_m", start_n_m)?;
            finite("end_n_m", end_n_m).map(drop)
        }
    }
}

/// The beam on the supports listed in `held`; `None` for a mechanism.
fn solve(input: &BeamInput, held: &[usize]) -> Option<Beam> {
    if held.len() < 2 {
        return None;
    }
    let mut order = held.to_vec();
    order.sort_by(|&a, &b| input.supports[a].x_m.total_cmp(&input.supports[b].x_m));
    let supports: Vec<Support> = order.iter().map(|&index| input.supports[index]).collect();
    let (first, last) = (supports[0].x_m, supports[supports.len() - 1].x_m);
    if input.hinges_m.iter().any(|&h| h <= first || h >= last) {
        return None;
    }
    let pieces = pieces(input);
    let mut left = Segment::new(first, 0.0, input.ei_nm2, &pieces);
    let mut right = Segment::new(last, input.length_m, input.ei_nm2, &pieces);
    right.take_what_stands_on(input.length_m, &pieces);
    let mut spans: Vec<Segment> = supports
        .windows(2)
        .map(|ends| Segment::new(ends[0].x_m, ends[1].x_m, input.ei_nm2, &pieces))
        .collect();
    for &hinge in &input.hinges_m {
        let span = spans.iter().rposition(|span| hinge >= span.origin_m)?;
        let at = hinge - spans[span].origin_m;
        spans[span].hinges.push((at, 0.0));
    }

    let bent = Bent::solve(&supports, &spans, &left, &right)?;
    for (index, span) in spans.iter_mut().enumerate() {
        let [start, end] = [index, index + 1];
        span.moment_nm = bent.moment_nm[start];
        span.shear_n = span.simple_reactions().0
            + (bent.moment_nm[end] - bent.moment_nm[start]) / span.length_m;
        span.deflection_m = bent.deflection_m[start];
        for (hinge, &turn) in span.hinges.iter_mut().zip(&bent.hinge_turns[index]) {
            hinge.1 = turn;
        }
        span.slope = span.start_slope(bent.moment_nm[end], bent.deflection_m[end]);
    }
    let last_span = &spans[spans.len() - 1];
    let outward = [-spans[0].slope, last_span.end_slope()];
    let last_support = supports.len() - 1;
    for (overhang, support, slope) in [
        (&mut left, 0, outward[0]),
        (&mut right, last_support, outward[1]),
    ] {
        overhang.moment_nm = bent.moment_nm[support];
        overhang.shear_n = overhang.load_n();
        overhang.deflection_m = bent.deflection_m[support];
        overhang.slope = slope;
    }
    let mut reaction_n = vec![0.0; input.supports.len()];
    let mut slack = vec![true; input.supports.len()];
    for (place, &index) in order.iter().enumerate() {
        reaction_n[index] = bent.reaction_n[place];
        slack[index] = false;
    }
    let mut segments = spans;
    if left.length_m > 0.0 {
        segments.insert(0, left);
    }
    if right.length_m > 0.0 {
        segments.push(right);
    }
    for segment in &mut segments {
        segment.draw_curve();
    }
    Some(Beam {
        reaction_n,
        slack,
        load_n: pieces.iter().map(Piece::total_n).sum(),
        length_m: input.length_m,
        segments,
    })
}

fn pieces(input: &BeamInput) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = input.loads.iter().map(|&load| Piece::of(load)).collect();
    if input.self_weight_n_m > 0.0 {
        pieces.push(Piece::of(Load::Distributed {
            from_m: 0.0,
            to_m: input.length_m,
            start_n_m: input.self_weight_n_m,
            end_n_m: input.self_weight_n_m,
        }));
    }
    pieces
}

/// Moments, deflections and reactions at the supports, left to right.
struct Bent {
    moment_nm: Vec<f64>,
    deflection_m: Vec<f64>,
    reaction_n: Vec<f64>,
    /// Rotation of each hinge of each span.
    hinge_turns: Vec<Vec<f64>>,
}

impl Bent {
    fn solve(
        supports: &[Support],
        spans: &[Segment],
        left: &Segment,
        right: &Segment,
    ) -> Option<Self> {
        let count = supports.len();
        let last = count - 1;
        let ei_nm2 = spans[0].ei_nm2;
        // Over all support moments: flexibility, reactions from moments, the loads' part of both.
        let mut flexibility = DMatrix::zeros(count, count);
        let mut from_moments = DMatrix::zeros(count, count);
        let mut load_slope = DVector::zeros(count);
        let mut load_reaction = DVector::zeros(count);
        for (index, span) in spans.iter().enumerate() {
            let (a, b, length) = (index, index + 1, span.length_m);
            for (row, column, value) in [(a, a, 2.0), (a, b, 1.0), (b, a, 1.0), (b, b, 2.0)] {
                flexibility[(row, column)] += value * length / 6.0;
                let sign = if row == column { -1.0 } else { 1.0 };
                from_moments[(row, column)] += sign / length;
            }
            let (slope_a, slope_b) = span.simple_slopes();
            load_slope[a] += slope_a;
            load_slope[b] += slope_b;
            let (reaction_a, reaction_b) = span.simple_reactions();
            load_reaction[a] += reaction_a;
            load_reaction[b] += reaction_b;
        }
        load_reaction[0] += left.load_n();
        load_reaction[last] += right.load_n();
        let mut moment = DVector::zeros(count);
        moment[0] = -left.load_moment_nm();
        moment[last] = -right.load_moment_nm();

        let yielding = DMatrix::from_diagonal(&DVector::from_iterator(
            count,
            supports
                .iter()
                .map(|support| ei_nm2 * support.stiffness_n_m.map_or(0.0, f64::recip)),
        ));
        let sunk = DVector::from_iterator(
            count,
            supports.iter().map(|support| ei_nm2 * support.settlement_m),
        );
        let yielding_part = from_moments.transpose() * &yielding;
        let whole = &flexibility + &yielding_part * &from_moments;
        let given = load_slope
            + from_moments.transpose() * sunk
            + &yielding_part * &load_reaction
            + &whole * &moment;

        let inner = count - 2;
        let hinges: Vec<(usize, f64, f64)> = spans
            .iter()
            .enumerate()
            .flat_map(|(index, span)| {
                span.hinges
                    .iter()
                    .map(move |&(at, _)| (index, at / span.length_m, span.simple_moment_nm(at)))
            })
            .collect();
        let stiff = whole.view((1, 1), (inner, inner)).into_owned();
        let mut right_side = -given.rows(1, inner);
        // Rows of the hinges over the inner moments, and the moment there from all else.
        let mut rows = DMatrix::zeros(hinges.len(), inner);
        let mut rest = DVector::zeros(hinges.len());
        for (row, &(span, share, simple)) in hinges.iter().enumerate() {
            rest[row] = simple;
            for (support, part) in [(span, 1.0 - share), (span + 1, share)] {
                if support == 0 || support == last {
                    rest[row] += part * moment[support];
                } else {
                    rows[(row, support - 1)] = part;
                }
            }
        }
        let factor = if inner > 0 {
            Some(stiff.cholesky()?)
        } else {
            None
        };
        let solved = |side: &DVector<f64>| match &factor {
            Some(factor) => factor.solve(side),
            None => side.clone(),
        };
        let mut turns = DVector::zeros(hinges.len());
        if !hinges.is_empty() {
            let factor = factor.as_ref()?;
            let schur = &rows * factor.solve(&rows.transpose());
            turns = hinge_turns(schur, -(&rest + &rows * solved(&right_side)))?;
            right_side += rows.transpose() * &turns;
        }
        moment.rows_mut(1, inner).copy_from(&solved(&right_side));

        let reaction = &load_reaction + &from_moments * &moment;
        let mut hinge_turns: Vec<Vec<f64>> = spans.iter().map(|_| Vec::new()).collect();
        for (&(span, ..), turn) in hinges.iter().zip(turns.iter()) {
            hinge_turns[span].push(turn / ei_nm2);
        }
        Some(Self {
            deflection_m: supports
                .iter()
                .zip(reaction.iter())
                .map(|(at, force)| {
                    at.settlement_m + at.stiffness_n_m.map_or(0.0, |rate| force / rate)
                })
                .collect(),
            moment_nm: moment.as_slice().to_vec(),
            reaction_n: reaction.as_slice().to_vec(),
            hinge_turns,
        })
    }
}

/// Hinge rotations times EI; `None` where the hinges make a mechanism.
fn hinge_turns(schur: DMatrix<f64>, side: DVector<f64>) -> Option<DVector<f64>> {
    let scale = DVector::from_iterator(
        schur.nrows(),
        schur.diagonal().iter().map(|value| value.sqrt().recip()),
    );
    if scale.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let scaling = DMatrix::from_diagonal(&scale);
    let unit = &scaling * schur * &scaling;
    let eigen = unit.symmetric_eigen();
    if eigen.eigenvalues.min() < LEAST_STIFFNESS {
        return None;
    }
    let across = eigen.eigenvectors.transpose() * &scaling * side;
    Some(scaling * &eigen.eigenvectors * across.component_div(&eigen.eigenvalues))
}

#[cfg(test)]
mod tests;
