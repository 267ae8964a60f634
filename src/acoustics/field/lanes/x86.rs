//! Registers of AVX2 and AVX-512. Their methods are inlined into functions that enable the instructions
//! they use; the types are private to the field and made nowhere else.

use super::{Lanes, ROUNDING, SINGLE_ROUNDING};
use std::arch::x86_64::*;

/// The value of an instruction.
macro_rules! there {
    ($instruction:expr) => {
        // SAFETY: registers of these types are made only in functions that enable their
        // instructions, and those are called only where `Registers::available` saw the machine to
        // have them.
        unsafe { $instruction }
    };
}

macro_rules! lanes {
    (
        $name:ident($register:ty), $number:ident, $width:literal,
        $splat:ident, $load:ident, $store:ident,
        $add:ident, $sub:ident, $mul:ident, $div:ident, $max:ident, $sqrt:ident,
        $mul_add:ident, $mul_sub:ident, $take:ident,
        |$a:ident, $p:ident| $flip:expr, $join:expr
    ) => {
        #[derive(Clone, Copy)]
        pub struct $name($register);

        impl Lanes for $name {
            const WIDTH: usize = $width;
            precision!($number);

            #[inline(always)]
            fn splat(value: f64) -> Self {
                Self(there!($splat(value as $number)))
            }

            #[inline(always)]
            fn load(from: &[f64]) -> Self {
                let from = &from[..$width];
                // SAFETY: as of `there`, and `from` holds as many numbers as the register.
                Self(unsafe { $load(from.as_ptr()) })
            }

            #[inline(always)]
            fn store(self, to: &mut [f64]) {
                let to = &mut to[..$width];
                // SAFETY: as of `there`, and `to` holds as many numbers as the register.
                unsafe { $store(to.as_mut_ptr(), self.0) }
            }

            #[inline(always)]
            fn add(self, other: Self) -> Self {
                Self(there!($add(self.0, other.0)))
            }

            #[inline(always)]
            fn sub(self, other: Self) -> Self {
                Self(there!($sub(self.0, other.0)))
            }

            #[inline(always)]
            fn mul(self, other: Self) -> Self {
                Self(there!($mul(self.0, other.0)))
            }

            #[inline(always)]
            fn div(self, other: Self) -> Self {
                Self(there!($div(self.0, other.0)))
            }

            #[inline(always)]
            fn max(self, other: Self) -> Self {
                Self(there!($max(self.0, other.0)))
            }

            #[inline(always)]
            fn sqrt(self) -> Self {
                Self(there!($sqrt(self.0)))
            }

            #[inline(always)]
            fn mul_add(self, factor: Self, term: Self) -> Self {
                Self(there!($mul_add(self.0, factor.0, term.0)))
            }

            #[inline(always)]
            fn mul_sub(self, factor: Self, term: Self) -> Self {
                Self(there!($mul_sub(self.0, factor.0, term.0)))
            }

            #[inline(always)]
            fn mul_and_take(self, factor: Self, term: Self) -> Self {
                Self(there!($take(self.0, factor.0, term.0)))
            }

            #[inline(always)]
            fn flipped_by(self, parity: Self) -> Self {
                let ($a, $p) = (self.0, parity.0);
                Self(there!($flip))
            }

            #[inline(always)]
            fn joined(self, other: Self) -> Self {
                let ($a, $p) = (self.0, other.0);
                Self(there!($join))
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
    _mm256_xor_pd(a, p)
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
    _mm256_xor_ps(a, p)
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
    ))
);
