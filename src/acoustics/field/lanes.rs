//! Several receivers in one register.
//!
//! [`Lanes`] is what the kernel needs of a vector; the kernel is written once and compiled for
//! each of its implementations: three of double precision, and two of single precision, which hold
//! twice as many receivers, for sums that need be right to some hundredths of a decibel only. Rounding
//! differs between them (fused or not), never between runs on one machine.

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

    /// self · 2ⁿ, n the whole number that was rounded to by adding `ROUNDING`.
    fn scaled_by(self, rounded: Self) -> Self;

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

/// For any machine: plain arrays, which the compiler puts in whatever registers there are.
macro_rules! portable {
    ($name:ident, $number:ident, $width:literal, $sign_bit:literal) => {
        #[derive(Clone, Copy)]
        pub(super) struct $name([$number; $width]);

        impl $name {
            #[inline(always)]
            fn zip(self, other: Self, f: impl Fn($number, $number) -> $number) -> Self {
                let mut all = self.0;
                for (a, b) in all.iter_mut().zip(other.0) {
                    *a = f(*a, b);
                }
                Self(all)
            }
        }

        impl Lanes for $name {
            const WIDTH: usize = $width;
            precision!($number);

            #[inline(always)]
            fn splat(value: f64) -> Self {
                Self([value as $number; $width])
            }

            #[inline(always)]
            fn load(from: &[f64]) -> Self {
                let mut all = [0.0; $width];
                for (to, &from) in all.iter_mut().zip(&from[..$width]) {
                    *to = from as $number;
                }
                Self(all)
            }

            #[inline(always)]
            fn store(self, to: &mut [f64]) {
                for (to, from) in to[..$width].iter_mut().zip(self.0) {
                    *to = f64::from(from);
                }
            }

            #[inline(always)]
            fn add(self, other: Self) -> Self {
                self.zip(other, |a, b| a + b)
            }

            #[inline(always)]
            fn sub(self, other: Self) -> Self {
                self.zip(other, |a, b| a - b)
            }

            #[inline(always)]
            fn mul(self, other: Self) -> Self {
                self.zip(other, |a, b| a * b)
            }

            #[inline(always)]
            fn div(self, other: Self) -> Self {
                self.zip(other, |a, b| a / b)
            }

            #[inline(always)]
            fn max(self, other: Self) -> Self {
                self.zip(other, |a, b| if a > b { a } else { b })
            }

            #[inline(always)]
            fn sqrt(self) -> Self {
                Self(self.0.map($number::sqrt))
            }

            #[inline(always)]
            fn mul_add(self, factor: Self, term: Self) -> Self {
                self.mul(factor).add(term)
            }

            #[inline(always)]
            fn mul_sub(self, factor: Self, term: Self) -> Self {
                self.mul(factor).sub(term)
            }

            #[inline(always)]
            fn mul_and_take(self, factor: Self, term: Self) -> Self {
                term.sub(self.mul(factor))
            }

            #[inline(always)]
            fn flipped_by(self, parity: Self) -> Self {
                self.zip(parity, |a, p| {
                    $number::from_bits(a.to_bits() ^ (p.to_bits() << $sign_bit))
                })
            }

            #[inline(always)]
            fn joined(self, other: Self) -> Self {
                self.zip(other, |a, b| $number::from_bits(a.to_bits() ^ b.to_bits()))
            }

            #[inline(always)]
            fn scaled_by(self, rounded: Self) -> Self {
                self.zip(rounded, |a, n| {
                    $number::from_bits(
                        a.to_bits()
                            .wrapping_add(n.to_bits() << ($number::MANTISSA_DIGITS - 1)),
                    )
                })
            }
        }
    };
}

portable!(Portable, f64, 4, 63);
portable!(PortableSingle, f32, 8, 31);

#[cfg(target_arch = "x86_64")]
pub(super) use x86::{Avx2, Avx2Single, Avx512};

#[cfg(target_arch = "x86_64")]
mod x86 {
    //! The methods of both types are inlined into functions that enable the instructions they use;
    //! the types are private to the field and made nowhere else.

    use crate::acoustics::field::lanes::{Lanes, ROUNDING, SINGLE_ROUNDING};
    use std::arch::x86_64::*;

    macro_rules! lanes {
        (
            $name:ident($register:ty), $number:ident, $width:literal,
            $splat:ident, $load:ident, $store:ident,
            $add:ident, $sub:ident, $mul:ident, $div:ident, $max:ident, $sqrt:ident,
            $mul_add:ident, $mul_sub:ident, $take:ident,
            |$a:ident, $p:ident| $flip:expr, $join:expr, $scale:expr
        ) => {
            #[derive(Clone, Copy)]
            pub struct $name($register);

            // SAFETY (every block below): only functions that enable these instructions, called
            // after their presence was checked, are compiled with this type.
            impl Lanes for $name {
                const WIDTH: usize = $width;
                precision!($number);

                #[inline(always)]
                fn splat(value: f64) -> Self {
                    Self(unsafe { $splat(value as $number) })
                }

                #[inline(always)]
                fn load(from: &[f64]) -> Self {
                    let from = &from[..$width];
                    // SAFETY: `from` holds as many numbers as the register.
                    Self(unsafe { $load(from.as_ptr()) })
                }

                #[inline(always)]
                fn store(self, to: &mut [f64]) {
                    let to = &mut to[..$width];
                    // SAFETY: `to` holds as many numbers as the register.
                    unsafe { $store(to.as_mut_ptr(), self.0) }
                }

                #[inline(always)]
                fn add(self, other: Self) -> Self {
                    Self(unsafe { $add(self.0, other.0) })
                }

                #[inline(always)]
                fn sub(self, other: Self) -> Self {
                    Self(unsafe { $sub(self.0, other.0) })
                }

                #[inline(always)]
                fn mul(self, other: Self) -> Self {
                    Self(unsafe { $mul(self.0, other.0) })
                }

                #[inline(always)]
                fn div(self, other: Self) -> Self {
                    Self(unsafe { $div(self.0, other.0) })
                }

                #[inline(always)]
                fn max(self, other: Self) -> Self {
                    Self(unsafe { $max(self.0, other.0) })
                }

                #[inline(always)]
                fn sqrt(self) -> Self {
                    Self(unsafe { $sqrt(self.0) })
                }

                #[inline(always)]
                fn mul_add(self, factor: Self, term: Self) -> Self {
                    Self(unsafe { $mul_add(self.0, factor.0, term.0) })
                }

                #[inline(always)]
                fn mul_sub(self, factor: Self, term: Self) -> Self {
                    Self(unsafe { $mul_sub(self.0, factor.0, term.0) })
                }

                #[inline(always)]
                fn mul_and_take(self, factor: Self, term: Self) -> Self {
                    Self(unsafe { $take(self.0, factor.0, term.0) })
                }

                #[inline(always)]
                fn flipped_by(self, parity: Self) -> Self {
                    let ($a, $p) = (self.0, parity.0);
                    Self(unsafe { $flip })
                }

                #[inline(always)]
                fn joined(self, other: Self) -> Self {
                    let ($a, $p) = (self.0, other.0);
                    Self(unsafe { $join })
                }

                #[inline(always)]
                fn scaled_by(self, rounded: Self) -> Self {
                    let ($a, $p) = (self.0, rounded.0);
                    Self(unsafe { $scale })
                }
            }
        };
    }

    lanes!(
        Avx2(__m256d),
        f64,
        4,
        _mm256_set1_pd,
        _mm256_loadu_pd,
        _mm256_storeu_pd,
        _mm256_add_pd,
        _mm256_sub_pd,
        _mm256_mul_pd,
        _mm256_div_pd,
        _mm256_max_pd,
        _mm256_sqrt_pd,
        _mm256_fmadd_pd,
        _mm256_fmsub_pd,
        _mm256_fnmadd_pd,
        |a, p| _mm256_xor_pd(
            a,
            _mm256_castsi256_pd(_mm256_slli_epi64::<63>(_mm256_castpd_si256(p)))
        ),
        _mm256_xor_pd(a, p),
        _mm256_castsi256_pd(_mm256_add_epi64(
            _mm256_castpd_si256(a),
            _mm256_slli_epi64::<52>(_mm256_castpd_si256(p))
        ))
    );

    /// # Safety
    /// Eight numbers are read from `from`.
    #[inline]
    #[target_feature(enable = "avx2")]
    unsafe fn load_eight(from: *const f64) -> __m256 {
        // SAFETY: as of this function.
        let (low, high) = unsafe { (_mm256_loadu_pd(from), _mm256_loadu_pd(from.add(4))) };
        _mm256_set_m128(_mm256_cvtpd_ps(high), _mm256_cvtpd_ps(low))
    }

    /// # Safety
    /// Eight numbers are written to `to`.
    #[inline]
    #[target_feature(enable = "avx2")]
    unsafe fn store_eight(to: *mut f64, from: __m256) {
        let low = _mm256_cvtps_pd(_mm256_castps256_ps128(from));
        let high = _mm256_cvtps_pd(_mm256_extractf128_ps::<1>(from));
        // SAFETY: as of this function.
        unsafe {
            _mm256_storeu_pd(to, low);
            _mm256_storeu_pd(to.add(4), high);
        }
    }

    lanes!(
        Avx2Single(__m256),
        f32,
        8,
        _mm256_set1_ps,
        load_eight,
        store_eight,
        _mm256_add_ps,
        _mm256_sub_ps,
        _mm256_mul_ps,
        _mm256_div_ps,
        _mm256_max_ps,
        _mm256_sqrt_ps,
        _mm256_fmadd_ps,
        _mm256_fmsub_ps,
        _mm256_fnmadd_ps,
        |a, p| _mm256_xor_ps(
            a,
            _mm256_castsi256_ps(_mm256_slli_epi32::<31>(_mm256_castps_si256(p)))
        ),
        _mm256_xor_ps(a, p),
        _mm256_castsi256_ps(_mm256_add_epi32(
            _mm256_castps_si256(a),
            _mm256_slli_epi32::<23>(_mm256_castps_si256(p))
        ))
    );

    lanes!(
        Avx512(__m512d),
        f64,
        8,
        _mm512_set1_pd,
        _mm512_loadu_pd,
        _mm512_storeu_pd,
        _mm512_add_pd,
        _mm512_sub_pd,
        _mm512_mul_pd,
        _mm512_div_pd,
        _mm512_max_pd,
        _mm512_sqrt_pd,
        _mm512_fmadd_pd,
        _mm512_fmsub_pd,
        _mm512_fnmadd_pd,
        |a, p| _mm512_castsi512_pd(_mm512_xor_si512(
            _mm512_castpd_si512(a),
            _mm512_slli_epi64::<63>(_mm512_castpd_si512(p))
        )),
        _mm512_castsi512_pd(_mm512_xor_si512(
            _mm512_castpd_si512(a),
            _mm512_castpd_si512(p)
        )),
        _mm512_castsi512_pd(_mm512_add_epi64(
            _mm512_castpd_si512(a),
            _mm512_slli_epi64::<52>(_mm512_castpd_si512(p))
        ))
    );
}
