//! Which hoists of a beam go slack, when hoists only pull?
//!
//! Rᵢ ≥ 0, the beam no lower than any slack hook, and Rᵢ = 0 there.

use super::{Beam, BeamInput, check, solve};
use crate::error::{InputError, Result, accept};

/// Beam hung on hoists, which only pull: a hoist drops out where it would have to push.
///
/// The energy is convex in the pulls, so the one set of hoists that pull, with the beam no lower
/// than any slack hook, is the answer.
///
/// # Errors
/// As [`super::beam`]; more than 16 hoists; loads under which the beam tips off its hoists.
pub fn hung_beam(input: &BeamInput) -> Result<Beam> {
    check(input)?;
    let count = input.supports.len();
    accept(
        count <= 16,
        "supports_m",
        format!("{count} supports"),
        "at most 16 hoists that only pull",
    )?;
    let full = (1u32 << count) - 1;
    let mut taut = full;
    let mut tried = Vec::new();
    while !tried.contains(&taut) {
        tried.push(taut);
        match judged(input, taut) {
            Some((beam, None)) => return Ok(let_go(beam)),
            Some((_, Some(change))) => taut ^= 1 << change,
            None => break,
        }
    }
    let mut sets: Vec<u32> = (1..=full).collect();
    sets.sort_by_key(|set| std::cmp::Reverse(set.count_ones()));
    sets.into_iter()
        .find_map(|set| match judged(input, set) {
            Some((beam, None)) => Some(let_go(beam)),
            _ => None,
        })
        .ok_or_else(|| {
            InputError::new(
                "loads",
                format!("{} loads", input.loads.len()),
                "loads under which the beam rests on hoists that only pull",
            )
        })
}

/// Counts hoists that carry rounding only as slack.
fn let_go(mut beam: Beam) -> Beam {
    let least_n = 1e-12
        * beam
            .reaction_n
            .iter()
            .fold(beam.load_n.abs(), |s, r| s + r.abs());
    for (reaction, slack) in beam.reaction_n.iter_mut().zip(&mut beam.slack) {
        if *reaction <= least_n {
            *reaction = 0.0;
            *slack = true;
        }
    }
    beam
}

/// The beam on the hoists of `set`, and the hoist whose state contradicts it, if any.
fn judged(input: &BeamInput, set: u32) -> Option<(Beam, Option<usize>)> {
    let taut: Vec<usize> = (0..input.supports.len())
        .filter(|&hoist| set & (1 << hoist) != 0)
        .collect();
    let beam = solve(input, &taut)?;
    let scale_n = beam.load_n.abs() + beam.reaction_n.iter().fold(0.0, |s, r| s + r.abs());
    let push = taut
        .iter()
        .copied()
        .filter(|&hoist| beam.reaction_n[hoist] < -1e-12 * scale_n)
        .min_by(|&a, &b| beam.reaction_n[a].total_cmp(&beam.reaction_n[b]));
    if push.is_some() {
        return Some((beam, push));
    }
    let below = |hoist: usize| {
        let support = &input.supports[hoist];
        beam.deflection_m(support.x_m) - support.settlement_m
    };
    let scale_m = scale_n * input.length_m.powi(3) / input.ei_nm2
        + input
            .supports
            .iter()
            .fold(0.0, |s, at| s + at.settlement_m.abs());
    let pulled = (0..input.supports.len())
        .filter(|hoist| !taut.contains(hoist) && below(*hoist) > 1e-12 * scale_m)
        .max_by(|&a, &b| below(a).total_cmp(&below(b)));
    Some((beam, pulled))
}
