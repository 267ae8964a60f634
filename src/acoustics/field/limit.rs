//! What the machine could do at best: the mathematics of one term, with nothing around it.
//!
//! A sine and cosine, a sine, an exponential, and the multiplications and additions that make a
//! term of them, over numbers that never leave the innermost cache. It is what a sum that works
//! out every term by itself cannot beat; the kernel beats it where it shares work between terms.

use super::Registers;
#[cfg(target_arch = "x86_64")]
use super::lanes::{Avx2, Avx512};
use super::lanes::{Lanes, Portable};
use super::polynomials::{Turn, decay_series, spread};
use crate::threads;
use std::f64::consts::{LN_2, LOG2_E};
use std::hint::black_box;
use std::time::Instant;

/// Numbers each function is worked out for in one go.
const NUMBERS: usize = 256;

/// Terms of the series of the exponential on ± ln 2 / 2.
const TERMS: usize = 12;

/// Seconds that one term takes each thread, all of them at work.
#[must_use]
pub fn seconds_per_term(registers: Registers, rounds: usize) -> f64 {
    let rounds = rounds.max(1);
    let there = Registers::available().contains(&registers);
    let slowest = threads::on_each(|| {
        let numbers: Vec<f64> = (0..NUMBERS).map(|i| 0.37 + 17.3 * i as f64).collect();
        let numbers = black_box(numbers);
        let turn = Turn::new();
        let series = black_box(decay_series(-1.0));
        let begun = Instant::now();
        for _ in 0..rounds {
            black_box(match registers {
                // SAFETY: the machine has these instructions.
                #[cfg(target_arch = "x86_64")]
                Registers::Avx2 if there => unsafe { terms_avx2(&turn, &series, &numbers) },
                // SAFETY: as above.
                #[cfg(target_arch = "x86_64")]
                Registers::Avx512 if there => unsafe { terms_avx512(&turn, &series, &numbers) },
                _ => terms::<Portable>(&turn, &series, &numbers),
            });
        }
        begun.elapsed().as_secs_f64()
    })
    .into_iter()
    .fold(0.0, f64::max);
    slowest / (rounds * NUMBERS) as f64
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn terms_avx2(turn: &Turn<f64>, series: &[f64], numbers: &[f64]) -> f64 {
    terms::<Avx2>(turn, series, numbers)
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx512f")]
fn terms_avx512(turn: &Turn<f64>, series: &[f64], numbers: &[f64]) -> f64 {
    terms::<Avx512>(turn, series, numbers)
}

/// The parts of a term one after the other, each a loop whose constants fit the registers best.
#[inline(always)]
fn terms<V: Lanes>(turn: &Turn<f64>, series: &[f64], numbers: &[f64]) -> f64 {
    let turn = turn.spread::<V>();
    let series = spread(series);
    let mut sums = [V::splat(0.0); 4];
    for numbers in numbers.chunks_exact(V::WIDTH) {
        let x = V::load(numbers);
        let [phase, _] = turn.sines_cosines(x, x, V::splat(1.7));
        sums[0] = sums[0].add(phase.sine.flipped_by(phase.parity));
        sums[1] = sums[1].add(phase.cosine.flipped_by(phase.parity));
    }
    for numbers in numbers.chunks_exact(V::WIDTH) {
        let x = V::load(numbers);
        let [slope, _] = turn.sines_cosines(x, x, V::splat(0.017));
        sums[2] = sums[2].add(slope.sine.flipped_by(slope.parity));
    }
    for numbers in numbers.chunks_exact(V::WIDTH) {
        let x = V::load(numbers);
        sums[3] = sums[3].add(exp(&series, x.mul(V::splat(-1e-3))));
    }
    for numbers in numbers.chunks_exact(V::WIDTH) {
        let x = V::load(numbers);
        let term = x.mul(sums[2]).mul(sums[3]).mul(x);
        sums[0] = term.mul_add(x, sums[0]);
        sums[1] = term.mul_and_take(x, sums[1]);
    }
    let mut lanes = [0.0; super::TILE];
    sums[0].add(sums[1]).store(&mut lanes);
    lanes.iter().sum()
}

/// e^x to full accuracy over its whole range: 2ⁿ e^r, |r| ≤ ln 2 / 2, twelve terms.
#[inline(always)]
fn exp<V: Lanes>(series: &[V; TERMS], x: V) -> V {
    let (_, whole) = x.turned(V::splat(LOG2_E));
    let n = whole.sub(V::splat(super::lanes::ROUNDING));
    let r = n.mul_and_take(V::splat(LN_2), x);
    // Even and odd terms apart, for twice the independent work.
    let square = r.mul(r);
    let (mut even, mut odd) = (series[TERMS - 2], series[TERMS - 1]);
    for term in [8, 6, 4, 2, 0] {
        even = even.mul_add(square, series[term]);
        odd = odd.mul_add(square, series[term + 1]);
    }
    odd.mul_add(r, even).scaled_by(whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_exponential_is_right_to_1e_14() {
        for step in -200..=200 {
            let x = f64::from(step) * 0.05;
            let mut out = [0.0; 4];
            exp(&spread(&decay_series(-1.0)), Portable::splat(x)).store(&mut out);
            approx::assert_relative_eq!(out[0], x.exp(), max_relative = 1e-14);
        }
    }

    #[test]
    fn a_term_takes_some_nanoseconds() {
        // A hundred operations or so on a core of this century: between 0.1 ns and 100 µs.
        let seconds = seconds_per_term(Registers::widest(), 10);
        assert!((1e-10..1e-4).contains(&seconds), "{seconds}");
    }
}
