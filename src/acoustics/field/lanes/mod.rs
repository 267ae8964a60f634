//! Several receivers in one register.
//!
//! [`Lanes`] is what the kernel needs of a vector; the kernel is written once and compiled for
//! each of its implementations: three of double precision, and two of single precision, which hold
//! twice as many receivers, for sums that need be right to some hundredths of a decibel only. Those of
//! 128 bits stand in `wide`, which takes what the compiler may take for granted; the wider ones of
//! x86-64 are found when the program runs, which `wide` does not do. Rounding differs between them
//! (fused or not), never between runs on one machine.

/// Receivers of a tile: a whole number of registers of every width.
pub const TILE: usize = 8;

/// 1.5·2⁵²: adding it rounds a number below 2⁵¹ to a whole one, whose parity is the lowest bit.
pub(super) const ROUNDING: f64 = 6_755_399_441_055_744.0;

/// 1.5·2²³: the same below 2²² in single precision.
const SINGLE_ROUNDING: f64 = 12_582_912.0;

/// A register of `WIDTH` numbers.
pub(super) trait Lanes: Copy {
    const WIDTH: usize;
    /// Adding it rounds to a whole number, whose parity is the lowest bit.
    const ROUNDING: f64;
    /// Pairs of terms of the polynomials of sine and cosine that this precision can tell.
    const PAIRS: usize;
    /// Relative error of a power series that this precision can tell.
    const LEFT_OUT: f64;
    /// Stands for a detour without end: small enough to be a phase.
    const ENDLESS_M: f64;
    fn splat(value: f64) -> Self;
    /// The first `WIDTH` numbers of `from`.
    fn load(from: &[f64]) -> Self;
    fn store(self, to: &mut [f64]);
    fn add(self, other: Self) -> Self;
    fn sub(self, other: Self) -> Self;
    fn mul(self, other: Self) -> Self;
    fn div(self, other: Self) -> Self;
    fn max(self, other: Self) -> Self;
    fn sqrt(self) -> Self;
    /// self · factor + term.
    fn mul_add(self, factor: Self, term: Self) -> Self;
    /// self · factor − term.
    fn mul_sub(self, factor: Self, term: Self) -> Self;
    /// term − self · factor.
    fn mul_and_take(self, factor: Self, term: Self) -> Self;
    /// Changes sign where the lowest bit of `parity` is set.
    fn flipped_by(self, parity: Self) -> Self;
    /// Of two parities that of their sum.
    fn joined(self, other: Self) -> Self;

    /// The distance of self · factor from the nearest whole number, and that number's parity.
    #[inline(always)]
    fn turned(self, factor: Self) -> (Self, Self) {
        let rounding = Self::splat(Self::ROUNDING);
        let parity = self.mul_add(factor, rounding);
        (self.mul_sub(factor, parity.sub(rounding)), parity)
    }

    #[inline(always)]
    fn abs(self) -> Self {
        self.max(Self::splat(0.0).sub(self))
    }
}

/// What follows from the precision alone.
macro_rules! precision {
    (f64) => {
        const ROUNDING: f64 = ROUNDING;
        const PAIRS: usize = 4;
        const LEFT_OUT: f64 = 0.9e-13;
        const ENDLESS_M: f64 = 1e9;
    };
    (f32) => {
        const ROUNDING: f64 = SINGLE_ROUNDING;
        const PAIRS: usize = 3;
        const LEFT_OUT: f64 = 1e-7;
        const ENDLESS_M: f64 = 1e4;
    };
}

mod portable;
#[cfg(target_arch = "x86_64")]
mod x86;

pub(super) use portable::{Portable, PortableSingle};
#[cfg(target_arch = "x86_64")]
pub(super) use x86::{Avx2, Avx2Single, Avx512};
