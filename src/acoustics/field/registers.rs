//! The kernel compiled for each width of register, and the choice between them.

use super::kernel::add_tile;
#[cfg(target_arch = "x86_64")]
use super::lanes::{Avx2, Avx2Single, Avx512};
use super::lanes::{Portable, PortableSingle, TILE};
use super::task::{Precision, Task, Tile};
use crate::acoustics::balloon::Measured;
use crate::acoustics::rooms;
use crate::error::{InputError, Result};
use crate::model::Line;

/// Vector instructions that the machine has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Registers {
    /// Two of 128 bits, which every machine has: four numbers.
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
            if available.len() > 1 && is_x86_feature_detected!("avx512f") {
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
    pub(super) fn add_tile(self, task: &Task<'_>, tile: &Tile<'_>, out: &mut [f64]) {
        match (task.precision(), self.0) {
            // SAFETY: both constructors saw that the machine has these instructions.
            #[cfg(target_arch = "x86_64")]
            (Precision::Double, Registers::Avx2) => unsafe {
                add_tile_avx2(task, tile, out);
            },
            // SAFETY: as above.
            #[cfg(target_arch = "x86_64")]
            (Precision::Double, Registers::Avx512) => unsafe {
                add_tile_avx512(task, tile, out);
            },
            // A tile fills one register of AVX2, so there is nothing for wider ones to do.
            // SAFETY: as above; every machine with wider ones has these.
            #[cfg(target_arch = "x86_64")]
            (Precision::Single, Registers::Avx2 | Registers::Avx512) => unsafe {
                add_tile_avx2_single(task, tile, out);
            },
            (Precision::Double, _) => add_tile::<Portable>(task, tile, out),
            (Precision::Single, _) => add_tile::<PortableSingle>(task, tile, out),
        }
        add_measured(task, tile, out);
    }
}

/// Adds the cabinets that are known by measurement.
fn add_measured(task: &Task<'_>, tile: &Tile<'_>, out: &mut [f64]) {
    let sources = task.sources;
    for (index, measured) in sources.measured.iter().enumerate() {
        let in_the_way = tile
            .shaded
            .iter()
            .find(|shaded| sources.cabinets[shaded.cabinet].measured.contains(&index));
        let detour_m = in_the_way.map(|shaded| &shaded.detour_m);
        let of_lines = &task.balloon_lines[index];
        add_one_measured(task, (measured, of_lines), detour_m, tile.points_m, out);
    }
}

fn add_one_measured(
    task: &Task<'_>,
    (measured, of_lines): (&Measured, &[Line]),
    detour_m: Option<&[f64; TILE]>,
    points_m: [&[f64]; 3],
    out: &mut [f64],
) {
    let lines = task.lines;
    for lane in 0..TILE {
        let point_m = points_m.map(|coordinate| coordinate[lane]);
        measured.pressure(point_m, lines, of_lines, |line, mut p| {
            if let Some(detour_m) = detour_m {
                p *= rooms::factor(0.5 * detour_m[lane] * lines.half_turns_per_m[line]);
            }
            out[line * 2 * TILE + lane] += p.re;
            out[line * 2 * TILE + TILE + lane] += p.im;
        });
    }
}

macro_rules! compiled {
    ($($tile:ident, $register:ident, $features:literal;)*) => {
        $(
            #[cfg(target_arch = "x86_64")]
            #[target_feature(enable = $features)]
            fn $tile(task: &Task<'_>, tile: &Tile<'_>, out: &mut [f64]) {
                add_tile::<$register>(task, tile, out);
            }
        )*
    };
}

compiled! {
    add_tile_avx2, Avx2, "avx2,fma";
    add_tile_avx2_single, Avx2Single, "avx2,fma";
    add_tile_avx512, Avx512, "avx512f";
}
