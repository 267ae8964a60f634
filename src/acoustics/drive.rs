//! How far can the hangs be driven, and which part runs out first?
//!
//! A signal whose third octaves hold the shares 10^{u_b/10} of its energy, Σ_b 10^{u_b/10} = 1, drives
//! all cabinets alike. With e_b the energy mean over a band's lines of a cabinet's own level on its
//! axis at 1 m (its gain and filter included), a gain of g dB brings it to the levels
//!
//! g + e_b + u_b in each band, g + 10 lg Σ_b 10^{(e_b + u_b)/10} in all,
//!
//! each of which stays at or below the greatest level stated for it. g at full drive is the largest
//! that all stated levels allow.

use super::bands;
use super::lines::Lines;
use super::rig::Rig;
use crate::error::{InputError, Result, accept, finite};

/// A level of a cabinet that is limited.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Number of its hang, and of the cabinet.
    pub hang: usize,
    /// Number of the cabinet, from the top.
    pub cabinet: usize,
    /// Number of its band among those of the signal; none for all of them together.
    pub band: Option<usize>,
    /// The gain that brings it to its stated level.
    pub most_gain_db: f64,
}

/// What full drive is.
#[derive(Clone, Debug, PartialEq)]
pub struct Drive {
    /// Gain at full drive.
    pub gain_db: f64,
    /// The first part to run out.
    pub first: Part,
    /// Band by band, the least that the cabinets have left at full drive; none where some cabinet
    /// states no level of its own for the band.
    pub band_headroom_db: Vec<Option<f64>>,
}

/// Shares of the bands in a signal, in dB of its whole energy, from its relative levels.
///
/// # Errors
/// Another number of levels than bands, or one that is not finite.
pub fn shares_db(spectrum_db: &[f64], bands: usize) -> Result<Vec<f64>> {
    accept(
        spectrum_db.len() == bands,
        "spectrum_db",
        spectrum_db.len(),
        format!("{bands} levels, one for each band"),
    )?;
    for (index, &level) in spectrum_db.iter().enumerate() {
        finite(&format!("spectrum_db[{index}]"), level)?;
    }
    let all_db = sum_db(spectrum_db.iter().copied());
    Ok(spectrum_db.iter().map(|level| level - all_db).collect())
}

/// The level of several together.
fn sum_db(levels_db: impl Iterator<Item = f64>) -> f64 {
    let energies = levels_db.map(|level| 10f64.powf(level / 10.0));
    10.0 * energies.sum::<f64>().log10()
}

impl Rig<'_> {
    /// Full drive with a signal of these shares.
    ///
    /// # Errors
    /// A cabinet that states no greatest level, neither in all nor for every band.
    pub fn full_drive(&self, lines: &Lines, shares_db: &[f64]) -> Result<Drive> {
        let mut first: Option<Part> = None;
        let mut band_headroom_db = vec![Some(f64::INFINITY); lines.bands().len()];
        for (hang, placed) in self.hangs().iter().enumerate() {
            for (cabinet, of_hang) in placed.hanging.hang.cabinets.iter().enumerate() {
                let source = of_hang.source.as_ref();
                let own = placed.own_lines(cabinet, lines);
                let levels_db: Vec<f64> = lines
                    .bands()
                    .iter()
                    .zip(shares_db)
                    .map(|(band, share_db)| {
                        let of_band = &own[band.lines.clone()];
                        let energy = of_band.iter().map(|size| size * size).sum::<f64>();
                        10.0 * (energy / of_band.len() as f64).log10() + share_db
                    })
                    .collect();
                let most_db = source.and_then(|source| source.max_level_db);
                let mut whole = most_db.is_some() || !levels_db.is_empty();
                let mut parts = Vec::new();
                if let Some(most_db) = most_db {
                    parts.push((None, most_db - sum_db(levels_db.iter().copied())));
                }
                for (band, level_db) in levels_db.iter().enumerate() {
                    let mid_hz = bands::mid_hz(lines.bands()[band].number);
                    let stated_db = source.and_then(|source| source.max_level_at(mid_hz));
                    whole &= most_db.is_some() || stated_db.is_some();
                    let left = &mut band_headroom_db[band];
                    let left_db = stated_db.map(|stated_db| stated_db - level_db);
                    *left = left.zip(left_db).map(|(a, b)| a.min(b));
                    parts.extend(left_db.map(|left_db| (Some(band), left_db)));
                }
                if !whole {
                    return Err(InputError::new(
                        &format!("hangs[{hang}].cabinets[{cabinet}].source.max_level_db"),
                        "not stated",
                        "a level, or one for every band",
                    ));
                }
                for (band, most_gain_db) in parts {
                    if first.is_none_or(|first| most_gain_db < first.most_gain_db) {
                        first = Some(Part {
                            hang,
                            cabinet,
                            band,
                            most_gain_db,
                        });
                    }
                }
            }
        }
        let first = first.filter(|first| first.most_gain_db.is_finite());
        let first = first.ok_or_else(|| {
            InputError::new(
                "hangs",
                "no sound in these bands",
                "some cabinet that sounds",
            )
        })?;
        let gain_db = first.most_gain_db;
        let left = band_headroom_db.into_iter();
        Ok(Drive {
            gain_db,
            first,
            band_headroom_db: left.map(|left| left.map(|left| left - gain_db)).collect(),
        })
    }
}
