//! Levels where several fields sound whose pressures do not add: their energies do.

use super::lanes::TILE;
use super::{Field, decibels};
use crate::acoustics::lines::Lines;

/// Energies of the bands at all receivers, tile by tile.
#[derive(Clone, Debug, PartialEq)]
pub struct Energies {
    bands: usize,
    of_tiles: Vec<[f64; TILE]>,
}

impl Energies {
    /// Of several fields together; none of none.
    #[must_use]
    pub fn of(fields: &[Field], lines: &Lines) -> Option<Self> {
        let bands = lines.bands().len();
        let mut sum: Option<Self> = None;
        for field in fields {
            let tiles = (0..field.tiles()).flat_map(|tile| field.tile_energies(lines, tile));
            match &mut sum {
                None => {
                    sum = Some(Self {
                        bands,
                        of_tiles: tiles.collect(),
                    });
                }
                Some(sum) => {
                    for (sum, energies) in sum.of_tiles.iter_mut().zip(tiles) {
                        add(sum, energies);
                    }
                }
            }
        }
        sum
    }

    fn of_tile(&self, tile: usize) -> &[[f64; TILE]] {
        &self.of_tiles[tile * self.bands..(tile + 1) * self.bands]
    }
}

fn add(sum: &mut [f64; TILE], energies: [f64; TILE]) {
    for (sum, energy) in sum.iter_mut().zip(energies) {
        *sum += energy;
    }
}

/// Level of each band of some fields and further energies together at the receivers of one tile, band
/// by band, laid out in `level_db`.
pub fn tile_levels<'f>(
    fields: impl IntoIterator<Item = &'f Field>,
    others: Option<&Energies>,
    lines: &Lines,
    tile: usize,
    level_db: &mut Vec<[f64; TILE]>,
) {
    level_db.clear();
    match others {
        Some(others) => level_db.extend(others.of_tile(tile)),
        None => level_db.resize(lines.bands().len(), [0.0; TILE]),
    }
    for field in fields {
        for (sum, energies) in level_db.iter_mut().zip(field.tile_energies(lines, tile)) {
            add(sum, energies);
        }
    }
    for band in level_db {
        *band = decibels::of_energies(*band);
    }
}

/// Level of each band over all receivers of some fields together.
#[must_use]
pub fn band_levels(fields: &[Field], lines: &Lines) -> Vec<Vec<f64>> {
    let mut bands: Vec<Vec<f64>> = Vec::new();
    for field in fields {
        let energies = field.band_energies(lines);
        if bands.is_empty() {
            bands = energies;
            continue;
        }
        for (sum, energy) in bands
            .iter_mut()
            .flatten()
            .zip(energies.into_iter().flatten())
        {
            *sum += energy;
        }
    }
    for level in bands.iter_mut().flatten() {
        *level = 10.0 * level.log10();
    }
    bands
}

/// The levels of the bands at one tile brought to one: that over all of them.
pub fn to_broadband(level_db: &mut Vec<[f64; TILE]>) {
    let mut mean = [0.0; TILE];
    for band in level_db.iter() {
        for (mean, level) in mean.iter_mut().zip(band) {
            *mean += 10f64.powf(level / 10.0) / level_db.len() as f64;
        }
    }
    level_db.clear();
    level_db.push(mean.map(|energy| 10.0 * energy.log10()));
}

/// Level of each band of some fields and further energies at all receivers.
pub fn all_levels<'f, I: Iterator<Item = &'f Field>>(
    fields: impl Fn() -> I,
    others: Option<&Energies>,
    lines: &Lines,
) -> Vec<Vec<f64>> {
    let mut bands = vec![Vec::new(); lines.bands().len()];
    let mut level_db = Vec::new();
    let Some(first) = fields().next() else {
        return bands;
    };
    for tile in 0..first.tiles() {
        tile_levels(fields(), others, lines, tile, &mut level_db);
        let count = first.receivers_of(tile).len();
        for (band, levels) in bands.iter_mut().zip(&level_db) {
            band.extend(&levels[..count]);
        }
    }
    bands
}

/// Level over all bands of each receiver, from the levels of the bands.
#[must_use]
pub fn broadband(band_db: &[Vec<f64>]) -> Vec<f64> {
    let count = band_db.first().map_or(0, Vec::len);
    (0..count)
        .map(|receiver| {
            let energies = band_db
                .iter()
                .map(|levels| 10f64.powf(levels[receiver] / 10.0));
            10.0 * (energies.sum::<f64>() / band_db.len() as f64).log10()
        })
        .collect()
}
