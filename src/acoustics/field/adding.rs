//! A sum that can be ended as soon as enough of its receivers are known.

use super::lanes::TILE;
use super::registers::Kernel;
use super::task::Task;
use super::{AirLoss, Field, Registers};
use crate::acoustics::Sources;
use crate::acoustics::lines::Lines;
use crate::acoustics::receivers::Receivers;
use crate::acoustics::rooms::Cast;

/// Sources whose pressure is to be added to a field, tile by tile of its receivers, on this thread
/// alone.
pub struct Adding<'a> {
    task: Task<'a>,
    receivers: &'a Receivers,
    kernel: Kernel,
    cast: Option<Cast<'a>>,
}

impl<'a> Adding<'a> {
    /// Makes `sources` ready.
    #[must_use]
    pub fn new(sources: &'a Sources, receivers: &'a Receivers, lines: &'a Lines) -> Self {
        Self::with(Registers::widest(), sources, receivers, lines)
    }

    pub(super) fn with(
        registers: Registers,
        sources: &'a Sources,
        receivers: &'a Receivers,
        lines: &'a Lines,
    ) -> Self {
        Self {
            task: Task::new(sources, lines),
            receivers,
            kernel: Kernel::with(registers),
            cast: None,
        }
    }

    /// The same, with the air's part from a table of these receivers and lines.
    #[must_use]
    pub fn with_air_loss(mut self, loss: &'a AirLoss) -> Self {
        self.task.air_loss = Some(loss);
        self
    }

    /// The same in single precision, at about half the work: right to some hundredths of a decibel.
    #[must_use]
    pub fn single(mut self) -> Self {
        self.task = self.task.single();
        self
    }

    /// The same behind what is in the way, in place of what the sources are shaded by themselves.
    #[must_use]
    pub fn behind(mut self, cast: Option<Cast<'a>>) -> Self {
        self.cast = cast;
        self
    }

    /// Number of tiles.
    #[must_use]
    pub fn tiles(&self) -> usize {
        self.receivers.tiles()
    }

    /// Adds the pressure at the receivers of `tile` to what `field` holds there.
    ///
    /// # Panics
    /// `field` is not of these receivers and lines, or there is no such tile.
    pub fn add(&self, tile: usize, field: &mut Field) {
        let size = self.task.lines.len() * 2 * TILE;
        self.add_at(tile, None, &mut field.parts[tile * size..(tile + 1) * size]);
    }

    /// As [`Adding::add`], to what another field holds there.
    ///
    /// # Panics
    /// As there.
    pub fn add_to(&self, tile: usize, to: &Field, field: &mut Field) {
        let size = self.task.lines.len() * 2 * TILE;
        let tiles = tile * size..(tile + 1) * size;
        let from = &to.parts[tiles.clone()];
        self.add_at(tile, Some(from), &mut field.parts[tiles]);
    }

    fn add_at(&self, number: usize, from: Option<&[f64]>, out: &mut [f64]) {
        let mut shaded = Vec::new();
        let mut tile = self.task.tile(self.receivers, number);
        if let Some(cast) = &self.cast {
            cast.of_tile(self.receivers, number, &mut shaded);
            tile.shaded = &shaded;
        }
        tile.from = from;
        self.kernel.add_tile(&self.task, &tile, out);
    }
}
