//! The sum over sub-elements, for one tile of receivers.
//!
//! Per receiver and sub-element, all that does not depend on frequency is worked out first (a
//! [`Path`]). Per term there remain, with κ = 2f/c half turns per metre:
//!
//! - e^{−jkd}: sine and cosine of π κ d;
//! - D_v = sin(πκu)/(πκu), u = (h_s/2) sin a: a sine; 1/(πu) is part of the path's gain, 1/κ is
//!   applied to the sum;
//! - e^{−α(d − d₀)}: d₀ is the distance of the block's middle sub-element, so the exponent is
//!   small and a short series will do; e^{−αd₀} is applied to the sum.
//!
//! Lines that are exactly one octave apart are worked out together, lowest first: then
//! e^{−j2kd} = (e^{−jkd})² and sin 2x / 2x = cos x · sin x / x, cos 2x = 2 cos² x − 1, and the
//! polynomials are needed once for up to six lines.
//!
//! Where the same places are heard again and again, e^{−αd₀} comes from a table ([`AirLoss`](super::AirLoss)), d₀ being
//! the distance of a fixed place. What edges take ([`Edges`]) is applied to the sum over a cabinet.
//!
//! Receivers of a tile stand side by side in a register; the sums stay in registers over all
//! sub-elements of a cabinet or, where nothing is in the way, of a block. The order of the sum is that
//! of the sub-elements.

#[cfg(target_arch = "x86_64")]
use super::lanes::{Avx2, Avx2Single, Avx512};
use super::lanes::{Lanes, Portable, PortableSingle, TILE};
use super::polynomials::{SERIES, decay, doubled, spread};
use super::shading::Edges;
use super::task::{MIDDLING, SHORT, Task, Tile};
use crate::acoustics::lines::LONGEST_CHAIN;
use crate::acoustics::rooms::Shaded;
use std::f64::consts::PI;
use std::ops::Range;

/// Sub-elements whose paths stay in the innermost cache together.
const BLOCK: usize = 128;

/// A square below the smallest half height times slope that matters; keeps 0/0 out.
const FLAT: f64 = 1e-30;

/// From a sub-element to a register of receivers.
#[derive(Clone, Copy)]
pub(super) struct Path<V> {
    /// Distance, and what the signal's delay adds to it: sets the phase.
    phase_m: V,
    /// Distance beyond that of the middle sub-element.
    beyond_m: V,
    /// Half height times the sine of the angle off the normal.
    slope_m: V,
    /// Weight · D_h / d / (π · slope).
    gain: V,
}

/// A run of a block's sub-elements with what is in their way.
struct Part<V> {
    elements: Range<usize>,
    edges: Option<Edges<V>>,
}

/// A tile, and where in it a register of receivers begins.
#[derive(Clone, Copy)]
struct Ears<'a> {
    tile: &'a Tile<'a>,
    lane: usize,
}

/// Adds the pressure of all sub-elements at one tile's receivers to `out`, which holds for each line
/// the tile's real parts, then its imaginary parts; or to `tile.from`, and writes the sum to `out`.
#[inline(always)]
pub(super) fn add_tile<V: Compiled>(task: &Task<'_>, tile: &Tile<'_>, out: &mut [f64]) {
    let count = task.sources.len();
    if count == 0
        && let Some(from) = tile.from
    {
        out.copy_from_slice(from);
    }
    let blocks = count.div_ceil(BLOCK).max(1);
    let length = count.div_ceil(blocks).max(1);
    let mut paths = Vec::with_capacity(length);
    let mut parts = Vec::new();
    for lane in (0..TILE).step_by(V::WIDTH) {
        let ears = Ears { tile, lane };
        let point = tile.points_m.map(|coordinate| V::load(&coordinate[lane..]));
        for start in (0..count).step_by(length) {
            let block = start..count.min(start + length);
            let middle_m = lay_paths(task, block.clone(), point, ears, &mut paths);
            let whole = [Part {
                elements: 0..block.len(),
                edges: None,
            }];
            let parts = if tile.shaded.is_empty() {
                &whole[..]
            } else {
                lay_parts(task, block, ears, &mut parts);
                &parts[..]
            };
            add_block(task, start, &paths, parts, middle_m, ears, out);
        }
    }
}

/// Parts a block's sub-elements into those of each shaded cabinet and the others between them.
#[inline(always)]
fn lay_parts<V: Lanes>(
    task: &Task<'_>,
    block: Range<usize>,
    ears: Ears<'_>,
    parts: &mut Vec<Part<V>>,
) {
    parts.clear();
    let mut next = block.start;
    for Shaded { cabinet, detour_m } in ears.tile.shaded {
        let own = &task.sources.cabinets[*cabinet].elements;
        let own = own.start.max(next)..own.end.min(block.end);
        if own.is_empty() {
            continue;
        }
        if own.start > next {
            parts.push(Part {
                elements: next - block.start..own.start - block.start,
                edges: None,
            });
        }
        parts.push(Part {
            elements: own.start - block.start..own.end - block.start,
            edges: Some(Edges::new(&detour_m[ears.lane..])),
        });
        next = own.end;
    }
    if next < block.end {
        parts.push(Part {
            elements: next - block.start..block.len(),
            edges: None,
        });
    }
}

/// Lays the paths of a range of sources; returns the distance that all others are counted from: that
/// of the middle one, or of the table's place.
#[inline(always)]
fn lay_paths<V: Lanes>(
    task: &Task<'_>,
    range: Range<usize>,
    point: [V; 3],
    ears: Ears<'_>,
    paths: &mut Vec<Path<V>>,
) -> V {
    let sources = task.sources;
    let sound_speed_m_s = task.lines.sound_speed_m_s();
    paths.clear();
    for source in range {
        let dx = point[0].sub(V::splat(sources.middle_m[0][source]));
        let dy = point[1].sub(V::splat(sources.middle_m[1][source]));
        let dz = point[2].sub(V::splat(sources.middle_m[2][source]));
        let distance = dot([dx, dy, dz], [dx, dy, dz]).sqrt();
        let slope_m = V::splat(sources.half_height_m[source])
            .mul(dot([dx, dy, dz], axis_of(&sources.upward, source)))
            .div(distance)
            .abs()
            .max(V::splat(FLAT));
        let mut above = V::splat(sources.weight[source]);
        let mut below = distance.mul(slope_m).mul(V::splat(PI));
        let narrowness = sources.narrowness[source];
        if narrowness > 0.0 {
            let ahead = dot([dx, dy, dz], axis_of(&sources.ahead, source));
            let left = dy.mul_add(
                V::splat(sources.leftward[1][source]),
                dx.mul(V::splat(sources.leftward[0][source])),
            );
            let flat = left.mul_add(left, ahead.mul(ahead)).sqrt();
            let front = flat.add(ahead).max(V::splat(FLAT));
            above = above.mul(front);
            below = below.mul(flat.sub(ahead).mul_add(V::splat(narrowness), front));
        }
        paths.push(Path {
            phase_m: distance.add(V::splat(sound_speed_m_s * sources.delay_s[source])),
            beyond_m: distance,
            slope_m,
            gain: above.div(below),
        });
    }
    let middle_m = match task.air_loss {
        Some(loss) => V::load(&loss.distance_m(ears.tile.number)[ears.lane..]),
        None => paths[paths.len() / 2].beyond_m,
    };
    for path in paths {
        path.beyond_m = path.beyond_m.sub(middle_m);
    }
    middle_m
}

#[inline(always)]
fn dot<V: Lanes>(a: [V; 3], b: [V; 3]) -> V {
    a[2].mul_add(b[2], a[1].mul_add(b[1], a[0].mul(b[0])))
}

#[inline(always)]
fn axis_of<V: Lanes>(axes: &[Vec<f64>; 3], source: usize) -> [V; 3] {
    [
        V::splat(axes[0][source]),
        V::splat(axes[1][source]),
        V::splat(axes[2][source]),
    ]
}

/// The largest of a register's numbers.
#[inline(always)]
fn largest<V: Lanes>(values: V) -> f64 {
    let mut lanes = [0.0; TILE];
    values.store(&mut lanes);
    lanes.into_iter().fold(0.0, f64::max)
}

#[inline(always)]
fn add_block<V: Compiled>(
    task: &Task<'_>,
    start: usize,
    paths: &[Path<V>],
    parts: &[Part<V>],
    middle_m: V,
    ears: Ears<'_>,
    out: &mut [f64],
) {
    let lines = task.lines;
    let turn = task.turn.spread::<V>();
    let mut beyond = V::splat(0.0);
    for path in paths {
        beyond = beyond.max(path.beyond_m.abs());
    }
    let beyond_m = largest(beyond);
    let furthest_m = largest(middle_m);
    let mut sums = [[V::splat(0.0); 2]; LONGEST_CHAIN];
    let mut of_part = sums;
    for chain in &lines.chains {
        let mut decay_per_m: f64 = 0.0;
        for &line in chain {
            decay_per_m = decay_per_m.max(lines.decay_per_m[line]);
        }
        let exponent = decay_per_m * beyond_m;
        let sums = &mut sums[..chain.len()];
        for (number, part) in parts.iter().enumerate() {
            let first = start + part.elements.start;
            let paths = &paths[part.elements.clone()];
            let of_part = &mut of_part[..chain.len()];
            let own = if number == 0 {
                &mut *sums
            } else {
                &mut *of_part
            };
            by_reach(task, first, paths, chain, exponent, own);
            if let Some(edges) = &part.edges {
                edges.shade(&turn, &lines.half_turns_per_m, chain, own);
            }
            if number > 0 {
                for (sum, of_part) in sums.iter_mut().zip(of_part) {
                    *sum = [sum[0].add(of_part[0]), sum[1].add(of_part[1])];
                }
            }
        }
        let base = V::splat(1.0 / lines.half_turns_per_m[chain[0]]);
        for (&line, &mut [re, im]) in chain.iter().zip(sums) {
            let loss = match task.air_loss {
                Some(loss) => V::load(&loss.factor(ears.tile.number, line)[ears.lane..]),
                None => {
                    let squarings = task.squarings(lines.decay_per_m[line] * furthest_m);
                    let part = middle_m.mul(V::splat(halved(squarings)));
                    decay::<V, SERIES>(&spread(&lines.decay_series[line]), part, squarings)
                }
            };
            let scale = loss.mul(base);
            let of_line = line * 2 * TILE..(line + 1) * 2 * TILE;
            let out = &mut out[of_line.clone()][..2 * TILE];
            let before = match ears.tile.from {
                Some(from) if start == 0 => &from[of_line][..2 * TILE],
                _ => &*out,
            };
            let [re_before, im_before] = [0, TILE].map(|at| V::load(&before[at + ears.lane..]));
            re.mul_add(scale, re_before).store(&mut out[ears.lane..]);
            im.mul_add(scale, im_before)
                .store(&mut out[TILE + ears.lane..]);
        }
    }
}

/// The sums over some paths, by a series of the exponential that reaches far enough.
#[inline(always)]
fn by_reach<V: Compiled>(
    task: &Task<'_>,
    start: usize,
    paths: &[Path<V>],
    chain: &[usize],
    exponent: f64,
    sums: &mut [[V; 2]],
) {
    let [short, middling, _] = task.reach;
    if exponent <= short {
        by_length::<V, SHORT>(task, start, paths, chain, 0, sums);
    } else if exponent <= middling {
        by_length::<V, MIDDLING>(task, start, paths, chain, 0, sums);
    } else {
        by_length::<V, SERIES>(task, start, paths, chain, task.squarings(exponent), sums);
    }
}

#[inline(always)]
fn by_length<V: Compiled, const N: usize>(
    task: &Task<'_>,
    start: usize,
    paths: &[Path<V>],
    chain: &[usize],
    squarings: u32,
    sums: &mut [[V; 2]],
) {
    macro_rules! lengths {
        ($($length:literal)*) => {
            match chain.len() {
                $($length => {
                    if let (Ok(chain), Ok(sums)) = (
                        <[usize; $length]>::try_from(chain),
                        <&mut [[V; 2]; $length]>::try_from(sums),
                    ) {
                        *sums = add_chain::<V, $length, N>(task, start, paths, chain, squarings);
                    }
                })*
                _ => {}
            }
        };
    }
    lengths!(1 2 3 4 5 6);
}

#[inline(always)]
fn add_chain<V: Compiled, const C: usize, const N: usize>(
    task: &Task<'_>,
    start: usize,
    paths: &[Path<V>],
    chain: [usize; C],
    squarings: u32,
) -> [[V; 2]; C] {
    match &task.responses {
        None => V::sum_chain::<C, N, false>(task, paths, chain, squarings, &[]),
        Some(responses) => {
            let responses = &responses[start * task.lines.len()..];
            V::sum_chain::<C, N, true>(task, paths, chain, squarings, responses)
        }
    }
}

/// Registers for which the innermost loop is compiled as functions of their own.
pub(super) trait Compiled: Lanes {
    fn sum_chain<const C: usize, const N: usize, const FILTERED: bool>(
        task: &Task<'_>,
        paths: &[Path<Self>],
        chain: [usize; C],
        squarings: u32,
        responses: &[[f64; 2]],
    ) -> [[Self; 2]; C];
}

macro_rules! compiled {
    ($($(#[$on:meta])? $name:ident $(with $features:literal)?;)*) => {
        $(
            $(#[$on])?
            impl Compiled for $name {
                fn sum_chain<const C: usize, const N: usize, const FILTERED: bool>(
                    task: &Task<'_>,
                                paths: &[Path<Self>],
                    chain: [usize; C],
                    squarings: u32,
                    responses: &[[f64; 2]],
                ) -> [[Self; 2]; C] {
                    $(#[target_feature(enable = $features)])?
                    fn inner<const C: usize, const N: usize, const FILTERED: bool>(
                        task: &Task<'_>,
                        paths: &[Path<$name>],
                        chain: [usize; C],
                        squarings: u32,
                        responses: &[[f64; 2]],
                    ) -> [[$name; 2]; C] {
                        sum_chain::<$name, C, N, FILTERED>(task, paths, chain, squarings, responses)
                    }
                    // SAFETY: these registers are made only where the machine has them.
                    #[allow(unused_unsafe, reason = "the portable ones need no instructions")]
                    unsafe {
                        inner::<C, N, FILTERED>(task, paths, chain, squarings, responses)
                    }
                }
            }
        )*
    };
}

compiled! {
    Portable;
    PortableSingle;
    #[cfg(target_arch = "x86_64")]
    Avx2 with "avx2,fma";
    #[cfg(target_arch = "x86_64")]
    Avx2Single with "avx2,fma";
    #[cfg(target_arch = "x86_64")]
    Avx512 with "avx512f";
}

/// The sums over a block's sub-elements for lines that are octaves apart.
#[inline(always)]
fn sum_chain<V: Lanes, const C: usize, const N: usize, const FILTERED: bool>(
    task: &Task<'_>,
    paths: &[Path<V>],
    chain: [usize; C],
    squarings: u32,
    responses: &[[f64; 2]],
) -> [[V; 2]; C] {
    let lines = task.lines;
    let base = V::splat(lines.half_turns_per_m[chain[0]]);
    let turn = task.turn.spread::<V>();
    let mut series = [[V::splat(0.0); N]; C];
    for (series, line) in series.iter_mut().zip(chain) {
        *series = spread(&lines.decay_series[line]);
    }
    let part = V::splat(halved(squarings));
    let mut sums = [[V::splat(0.0); 2]; C];
    for (index, path) in paths.iter().enumerate() {
        let mut weights = [[1.0, 0.0]; C];
        if FILTERED {
            let row = &responses[index * lines.len()..];
            weights = chain.map(|line| row[line]);
            if weights == [[0.0, 0.0]; C] {
                continue;
            }
        }
        let beyond_m = if N == SERIES {
            path.beyond_m.mul(part)
        } else {
            path.beyond_m
        };
        let [phase, slope] = turn.sines_cosines(path.phase_m, path.slope_m, base);
        let (mut sine, mut cosine) = (phase.sine, phase.cosine);
        let signs = phase.parity.joined(slope.parity);
        let mut amplitude = slope.sine.mul(path.gain);
        let mut widening = slope.cosine.flipped_by(slope.parity);
        for octave in 0..C {
            let air = if N == SERIES {
                decay(&series[octave], beyond_m, squarings)
            } else {
                decay(&series[octave], beyond_m, 0)
            };
            let mut term = amplitude.mul(air);
            if octave == 0 {
                term = term.flipped_by(signs);
                amplitude = amplitude.flipped_by(slope.parity);
            }
            let [re, im] = sums[octave];
            sums[octave] = if FILTERED {
                let w_re = V::splat(weights[octave][0]);
                let w_im = V::splat(weights[octave][1]);
                [
                    term.mul_add(cosine.mul_add(w_re, sine.mul(w_im)), re),
                    term.mul_add(cosine.mul_sub(w_im, sine.mul(w_re)), im),
                ]
            } else {
                [term.mul_add(cosine, re), term.mul_and_take(sine, im)]
            };
            if octave + 1 < C {
                amplitude = amplitude.mul(widening);
                widening = doubled(widening);
                sine = cosine.add(cosine).mul(sine);
                cosine = doubled(cosine);
            }
        }
    }
    sums
}

/// 2^−times.
#[inline(always)]
fn halved(times: u32) -> f64 {
    f64::from_bits((1023 - u64::from(times)) << 52)
}
