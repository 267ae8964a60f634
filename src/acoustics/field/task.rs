//! What all tiles of a sum share.

use super::air_loss::AirLoss;
use super::lanes::{Lanes, Portable, PortableSingle};
use super::polynomials::{SERIES, Turn, reach_of_series};
use crate::acoustics::element::Sources;
use crate::acoustics::lines::Lines;
use crate::acoustics::receivers::Receivers;
use crate::acoustics::rooms::Shaded;
use crate::model::{Balloon, Line};
use std::sync::Arc;

/// Short and middling series of the exponential; the long one is squared as often as need be.
pub(super) const SHORT: usize = 5;
pub(super) const MIDDLING: usize = 7;

/// What a sum is worked out in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Precision {
    /// 53 bits.
    Double,
    /// 24 bits: the phase over 100 m at 8 kHz is right to some thousandths of a turn.
    Single,
}

/// What all tiles share.
pub(super) struct Task<'a> {
    pub sources: &'a Sources,
    pub lines: &'a Lines,
    /// Complex weight of each source at each line, where they are not all 1.
    pub responses: Option<Vec<[f64; 2]>>,
    pub air_loss: Option<&'a AirLoss>,
    /// Of each measured cabinet, what its balloon needs of the lines.
    pub balloon_lines: Vec<Arc<[Line]>>,
    pub(super) turn: Turn<f64>,
    precision: Precision,
    /// Greatest exponent of each series.
    pub(super) reach: [f64; 3],
}

/// A tile of receivers, and what is known of it.
pub(super) struct Tile<'a> {
    pub number: usize,
    pub points_m: [&'a [f64]; 3],
    /// Cabinets that are shaded there, in rising order.
    pub shaded: &'a [Shaded],
    /// What is added to, where that is not what the sum is written to.
    pub from: Option<&'a [f64]>,
}

impl<'a> Task<'a> {
    pub(super) fn new(sources: &'a Sources, lines: &'a Lines) -> Self {
        Self {
            sources,
            lines,
            responses: sources.responses(lines.frequency_hz()),
            air_loss: None,
            balloon_lines: balloon_lines(sources, lines),
            turn: Turn::new(),
            precision: Precision::Double,
            reach: reaches(Portable::LEFT_OUT),
        }
    }

    /// The same in single precision.
    pub(super) fn single(mut self) -> Self {
        self.precision = Precision::Single;
        self.reach = reaches(PortableSingle::LEFT_OUT);
        self
    }

    /// A tile of the receivers, shaded as the sources say.
    pub(super) fn tile<'t>(&'t self, receivers: &'t Receivers, number: usize) -> Tile<'t> {
        let shade = self.sources.shade.as_ref();
        Tile {
            number,
            points_m: receivers.tile(number),
            shaded: shade.map_or(&[], |shade| shade.of_tile(number)),
            from: None,
        }
    }

    pub(super) fn precision(&self) -> Precision {
        self.precision
    }

    /// How often the long series is to be squared for exponents up to `largest`.
    #[inline(always)]
    pub(super) fn squarings(&self, mut largest: f64) -> u32 {
        let mut squarings = 0;
        while largest > self.reach[2] {
            largest *= 0.5;
            squarings += 1;
        }
        squarings
    }
}

fn reaches(left_out: f64) -> [f64; 3] {
    [SHORT, MIDDLING, SERIES].map(|terms| reach_of_series(terms, left_out))
}

/// Mostly all cabinets have the same balloon, so it is asked once.
fn balloon_lines(sources: &Sources, lines: &Lines) -> Vec<Arc<[Line]>> {
    let mut last: Option<(&Arc<Balloon>, Arc<[Line]>)> = None;
    let measured = sources.measured.iter();
    measured
        .map(|one| {
            let known = last
                .as_ref()
                .filter(|last| Arc::ptr_eq(last.0, &one.balloon));
            let of_lines = match known {
                Some((_, of_lines)) => Arc::clone(of_lines),
                None => one.balloon.at(lines.frequency_hz()).into(),
            };
            last = Some((&one.balloon, Arc::clone(&of_lines)));
            of_lines
        })
        .collect()
}
