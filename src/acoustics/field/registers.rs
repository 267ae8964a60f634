//! The kernel compiled for each width of register, and the choice between them.

use super::kernel::{Task, add_tile};
#[cfg(target_arch = "x86_64")]
use super::lanes::{Avx2, Avx512};
use super::lanes::{Portable, TILE};
use super::shading::add_shaded;
use crate::error::{InputError, Result};
use std::ops::Range;

/// Vector instructions that the machine has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Registers {
    /// Whatever the compiler may take for granted.
    Portable,
    /// AVX2 with fused multiply–add: four numbers.
    Avx2,
    /// AVX-512: eight numbers.
    Avx512,
}

impl Registers {
    /// All that this machine has, widest last.
    #[must_use]
    pub fn available() -> Vec<Self> {
        let mut available = vec![Self::Portable];
        #[cfg(target_arch = "x86_64")]
        {
            if is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma") {
                available.push(Self::Avx2);
            }
            if is_x86_feature_detected!("avx512f") {
                available.push(Self::Avx512);
            }
        }
        available
    }

    /// The widest that this machine has.
    #[must_use]
    pub fn widest() -> Self {
        Self::available().pop().unwrap_or(Self::Portable)
    }

    /// The ones of that name, or the widest for an empty one.
    ///
    /// # Errors
    /// This machine has none of that name.
    pub fn named(name: &str) -> Result<Self> {
        if name.is_empty() {
            return Ok(Self::widest());
        }
        let available = Self::available();
        available
            .iter()
            .find(|registers| registers.name() == name)
            .copied()
            .ok_or_else(|| {
                let names: Vec<&str> = available.iter().map(|r| r.name()).collect();
                InputError::new("registers", name, names.join(", "))
            })
    }

    /// The name used in tables.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Portable => "portable",
            Self::Avx2 => "avx2",
            Self::Avx512 => "avx512",
        }
    }
}

/// A choice of registers that was found on this machine.
#[derive(Clone, Copy)]
pub(super) struct Kernel(Registers);

impl Kernel {
    pub(super) fn widest() -> Self {
        Self(Registers::widest())
    }

    /// `registers`, or the portable ones where the machine has none of those.
    pub(super) fn with(registers: Registers) -> Self {
        let there = Registers::available().contains(&registers);
        Self(if there {
            registers
        } else {
            Registers::Portable
        })
    }

    /// Adds all sources at the receivers of a tile, each cabinet with what shades it.
    pub(super) fn add_tile(
        self,
        task: &Task<'_>,
        tile: usize,
        points_m: [&[f64]; 3],
        out: &mut [f64],
    ) {
        let sources = task.sources;
        let shade = sources.shade.as_ref();
        let mut shaded = shade
            .into_iter()
            .flat_map(|shade| shade.of_tile(tile))
            .peekable();
        if shaded.peek().is_none() {
            self.add_elements(task, 0..sources.len(), points_m, out);
            add_measured(task, 0..sources.measured.len(), points_m, out);
            return;
        }
        let mut alone = vec![0.0; out.len()];
        let (mut element, mut measured) = (0, 0);
        for (cabinet, detour_m) in shaded {
            let own = &sources.cabinets[cabinet];
            self.add_elements(task, element..own.elements.start, points_m, out);
            add_measured(task, measured..own.measured.start, points_m, out);
            alone.fill(0.0);
            self.add_elements(task, own.elements.clone(), points_m, &mut alone);
            add_measured(task, own.measured.clone(), points_m, &mut alone);
            self.add_shaded(task, detour_m, &alone, out);
            element = element.max(own.elements.end);
            measured = measured.max(own.measured.end);
        }
        self.add_elements(task, element..sources.len(), points_m, out);
        add_measured(task, measured..sources.measured.len(), points_m, out);
    }

    fn add_elements(
        self,
        task: &Task<'_>,
        range: Range<usize>,
        points_m: [&[f64]; 3],
        out: &mut [f64],
    ) {
        if range.is_empty() {
            return;
        }
        match self.0 {
            // SAFETY: both constructors saw that the machine has these instructions.
            #[cfg(target_arch = "x86_64")]
            Registers::Avx2 => unsafe { add_tile_avx2(task, range, points_m, out) },
            #[cfg(target_arch = "x86_64")]
            Registers::Avx512 => unsafe { add_tile_avx512(task, range, points_m, out) },
            _ => add_tile::<Portable>(task, range, points_m, out),
        }
    }

    fn add_shaded(self, task: &Task<'_>, detour_m: &[f64], alone: &[f64], out: &mut [f64]) {
        match self.0 {
            // SAFETY: as above.
            #[cfg(target_arch = "x86_64")]
            Registers::Avx2 => unsafe { add_shaded_avx2(task, detour_m, alone, out) },
            #[cfg(target_arch = "x86_64")]
            Registers::Avx512 => unsafe { add_shaded_avx512(task, detour_m, alone, out) },
            _ => add_shaded::<Portable>(task, detour_m, alone, out),
        }
    }
}

/// Adds the cabinets that are known by measurement.
fn add_measured(task: &Task<'_>, range: Range<usize>, points_m: [&[f64]; 3], out: &mut [f64]) {
    let lines = task.lines;
    for measured in task.sources.measured.get(range).unwrap_or_default() {
        for lane in 0..TILE {
            let pressure = measured.pressure(
                points_m.map(|coordinate| coordinate[lane]),
                lines.frequency_hz(),
                &lines.decay_per_m,
                lines.sound_speed_m_s(),
            );
            for (line, p) in pressure.enumerate() {
                out[line * 2 * TILE + lane] += p.re;
                out[line * 2 * TILE + TILE + lane] += p.im;
            }
        }
    }
}

macro_rules! compiled {
    ($($tile:ident, $shaded:ident, $register:ident, $features:literal;)*) => {
        $(
            #[cfg(target_arch = "x86_64")]
            #[target_feature(enable = $features)]
            fn $tile(
                task: &Task<'_>,
                range: Range<usize>,
                points_m: [&[f64]; 3],
                out: &mut [f64],
            ) {
                add_tile::<$register>(task, range, points_m, out);
            }

            #[cfg(target_arch = "x86_64")]
            #[target_feature(enable = $features)]
            fn $shaded(
                task: &Task<'_>,
                detour_m: &[f64],
                alone: &[f64],
                out: &mut [f64],
            ) {
                add_shaded::<$register>(task, detour_m, alone, out);
            }
        )*
    };
}

compiled! {
    add_tile_avx2, add_shaded_avx2, Avx2, "avx2,fma";
    add_tile_avx512, add_shaded_avx512, Avx512, "avx512f";
}
