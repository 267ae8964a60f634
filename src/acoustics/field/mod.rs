//! The complex pressure at many receivers and frequencies.
//!
//! The sum of [`acoustics`](super) over sub-elements, with the work per term cut to what must
//! be done (see `kernel`). Receivers go eight by eight in tiles; a tile's result depends
//! on nothing but its own points, so it is the same, bit for bit, for any number of threads.

mod adding;
mod air_loss;
mod decibels;
pub mod energies;
mod kernel;
pub(super) mod lanes;
pub(super) mod polynomials;
mod registers;
mod shading;
mod task;

pub use adding::Adding;
pub use air_loss::AirLoss;
pub use energies::Energies;
pub use lanes::TILE;
pub use registers::Registers;

use super::element::Sources;
use super::lines::Lines;
use super::receivers::Receivers;
use crate::threads;
use nalgebra::Complex;
use registers::Kernel;
use std::convert::Infallible;
use std::ops::Range;
use std::sync::{Mutex, PoisonError};
use task::Task;

/// Tiles a thread takes at a time.
const TILES_A_BLOCK: usize = 16;

/// Terms between two calls of `pause`: a tenth of a second on one core, two without wide registers.
const TERMS_A_BATCH: usize = 1 << 25;

/// Complex pressure at each receiver and line.
#[derive(Clone, Debug)]
pub struct Field {
    lines: usize,
    receivers: usize,
    /// Tile by tile; in each, line by line; of each, the tile's real parts, then its imaginary ones.
    parts: Vec<f64>,
}

impl Field {
    /// No sound yet.
    #[must_use]
    pub fn silent(receivers: &Receivers, lines: &Lines) -> Self {
        Self {
            lines: lines.len(),
            receivers: receivers.len(),
            parts: vec![0.0; receivers.tiles() * lines.len() * 2 * TILE],
        }
    }

    /// The pressure of `sources`, all threads sharing the receivers.
    #[must_use]
    pub fn of(sources: &Sources, receivers: &Receivers, lines: &Lines) -> Self {
        let Ok(field) = Self::watched(sources, receivers, lines, || Ok::<(), Infallible>(()));
        field
    }

    /// As [`Field::of`]; `pause` is called now and then, and its error stops the work.
    ///
    /// # Errors
    /// What `pause` gives.
    pub fn watched<E>(
        sources: &Sources,
        receivers: &Receivers,
        lines: &Lines,
        mut pause: impl FnMut() -> std::result::Result<(), E>,
    ) -> std::result::Result<Self, E> {
        let mut field = Self::silent(receivers, lines);
        let task = Task::new(sources, lines);
        let kernel = Kernel::widest();
        let tile_size = (lines.len() * 2 * TILE).max(1);
        let tile_terms = (sources.len() * lines.len() * TILE).max(1);
        let batch = (TERMS_A_BATCH / tile_terms).max(1);
        for (index, tiles) in field.parts.chunks_mut(batch * tile_size).enumerate() {
            threads::each_piece(tiles, tile_size, |tile, out| {
                let tile = index * batch + tile;
                kernel.add_tile(&task, &task.tile(receivers, tile), out);
            });
            pause()?;
        }
        Ok(field)
    }

    /// The pressure at one receiver and line.
    ///
    /// # Panics
    /// An index out of range.
    #[must_use]
    pub fn pressure(&self, line: usize, receiver: usize) -> Complex<f64> {
        let at = (receiver / TILE * self.lines + line) * 2 * TILE + receiver % TILE;
        Complex::new(self.parts[at], self.parts[at + TILE])
    }

    /// Number of tiles: of receivers that are worked out together.
    #[must_use]
    pub fn tiles(&self) -> usize {
        self.receivers.div_ceil(TILE)
    }

    /// Number of receivers.
    #[must_use]
    pub fn receivers(&self) -> usize {
        self.receivers
    }

    /// Mean of |p|² over the lines of each band: one list over the receivers for each band.
    #[must_use]
    pub fn band_energies(&self, lines: &Lines) -> Vec<Vec<f64>> {
        let mut energies = vec![vec![0.0; self.receivers]; lines.bands().len()];
        for tile in 0..self.tiles() {
            let receivers = self.receivers_of(tile);
            for (energies, of_tile) in energies.iter_mut().zip(self.tile_energies(lines, tile)) {
                let count = receivers.len();
                energies[receivers.clone()].copy_from_slice(&of_tile[..count]);
            }
        }
        energies
    }

    /// Mean of the bands' energies at the receivers of one tile.
    pub(in crate::acoustics) fn broadband_energy(&self, lines: &Lines, tile: usize) -> [f64; TILE] {
        let mut mean = [0.0; TILE];
        for energies in self.tile_energies(lines, tile) {
            for (mean, energy) in mean.iter_mut().zip(energies) {
                *mean += energy / lines.bands().len() as f64;
            }
        }
        mean
    }

    /// Mean of |p|² over the lines of each band at the receivers of one tile, band by band.
    fn tile_energies(&self, lines: &Lines, tile: usize) -> impl Iterator<Item = [f64; TILE]> {
        let size = self.lines * 2 * TILE;
        let parts = &self.parts[tile * size..(tile + 1) * size];
        lines.bands().iter().map(|band| {
            let mut energy = [0.0; TILE];
            let of_band = &parts[band.lines.start * 2 * TILE..band.lines.end * 2 * TILE];
            for line in of_band.chunks_exact(2 * TILE) {
                let (re, im) = line.split_at(TILE);
                for (energy, (re, im)) in energy.iter_mut().zip(re.iter().zip(im)) {
                    *energy += re * re + im * im;
                }
            }
            energy.map(|sum| sum / band.lines.len() as f64)
        })
    }

    /// Level of each band at the receivers of one tile, band by band, laid out in `level_db`.
    pub fn tile_levels(&self, lines: &Lines, tile: usize, level_db: &mut Vec<[f64; TILE]>) {
        level_db.clear();
        level_db.extend(self.tile_energies(lines, tile).map(decibels::of_energies));
    }

    /// The receivers of one tile.
    #[must_use]
    pub fn receivers_of(&self, tile: usize) -> Range<usize> {
        tile * TILE..self.receivers.min((tile + 1) * TILE)
    }

    /// Level of each band in dB, 0 dB being unit pressure: one list over the receivers for each
    /// band.
    #[must_use]
    pub fn band_levels(&self, lines: &Lines) -> Vec<Vec<f64>> {
        let mut bands = self.band_energies(lines);
        for level in bands.iter_mut().flatten() {
            *level = 10.0 * level.log10();
        }
        bands
    }
}

/// Adds the pressure of `sources` to `field`, on this thread alone.
///
/// `field` must be of these receivers and lines ([`Field::silent`]).
pub fn accumulate(sources: &Sources, receivers: &Receivers, lines: &Lines, field: &mut Field) {
    accumulate_with(Registers::widest(), sources, receivers, lines, field);
}

/// As [`accumulate`], with other than the widest registers.
pub fn accumulate_with(
    registers: Registers,
    sources: &Sources,
    receivers: &Receivers,
    lines: &Lines,
    field: &mut Field,
) {
    debug_assert_eq!(
        (field.receivers, field.lines),
        (receivers.len(), lines.len())
    );
    let adding = Adding::with(registers, sources, receivers, lines);
    for tile in 0..adding.tiles() {
        adding.add(tile, field);
    }
}

/// Writes the pressure to `out`, line after line over all receivers, all threads sharing the
/// receivers. `pause` is called now and then; its error stops the work.
///
/// # Errors
/// What `pause` gives.
pub fn write_pressure<E>(
    registers: Registers,
    sources: &Sources,
    receivers: &Receivers,
    lines: &Lines,
    out: &mut [Complex<f64>],
    mut pause: impl FnMut() -> std::result::Result<(), E>,
) -> std::result::Result<(), E> {
    debug_assert_eq!(out.len(), receivers.len() * lines.len());
    if out.is_empty() {
        return Ok(());
    }
    let task = Task::new(sources, lines);
    let kernel = Kernel::with(registers);
    let tile_size = lines.len() * 2 * TILE;
    let shared = receivers.tiles() / (16 * threads::count());
    let block_tiles = shared.clamp(1, TILES_A_BLOCK);
    let mut blocks: Vec<Vec<&mut [Complex<f64>]>> = Vec::new();
    blocks.resize_with(receivers.tiles().div_ceil(block_tiles), || {
        Vec::with_capacity(lines.len())
    });
    for row in out.chunks_exact_mut(receivers.len()) {
        for (block, part) in blocks.iter_mut().zip(row.chunks_mut(block_tiles * TILE)) {
            block.push(part);
        }
    }
    let block_terms = (sources.len() * lines.len() * block_tiles * TILE).max(1);
    let batch = (TERMS_A_BATCH / block_terms).max(1);
    for (index, batch_blocks) in blocks.chunks_mut(batch).enumerate() {
        let workers = batch_blocks.len();
        let queue = Mutex::new(batch_blocks.iter_mut().enumerate());
        let work = || {
            let mut sums = vec![0.0; tile_size * block_tiles];
            loop {
                let next = queue.lock().unwrap_or_else(PoisonError::into_inner).next();
                let Some((block, rows)) = next else { break };
                let first = (index * batch + block) * block_tiles;
                sums.fill(0.0);
                let tiles = first..receivers.tiles().min(first + block_tiles);
                for (tile, sum) in tiles.zip(sums.chunks_exact_mut(tile_size)) {
                    kernel.add_tile(&task, &task.tile(receivers, tile), sum);
                }
                write_rows(rows, &sums, tile_size);
            }
        };
        threads::together(workers, work);
        pause()?;
    }
    Ok(())
}

/// Writes the sums of a block's tiles to its part of each line's row, row by row, so that what is
/// written together lies together.
fn write_rows(rows: &mut [&mut [Complex<f64>]], sums: &[f64], tile_size: usize) {
    for (line, row) in rows.iter_mut().enumerate() {
        for (row, sum) in row.chunks_mut(TILE).zip(sums.chunks_exact(tile_size)) {
            let (re, im) = sum[line * 2 * TILE..(line + 1) * 2 * TILE].split_at(TILE);
            for ((p, &re), &im) in row.iter_mut().zip(re).zip(im) {
                *p = Complex::new(re, im);
            }
        }
    }
}

#[cfg(test)]
mod tests;
