//! Two registers of 128 bits side by side, of the kind that the compiler may take for granted: SSE2 on
//! x86-64, NEON with its fused multiplication and addition on ARM64, plain numbers where there is
//! neither. Two, because one alone waits for its own results.

use super::{Lanes, ROUNDING, SINGLE_ROUNDING};
use wide::{bytemuck, f32x8, f64x4, u32x8, u64x4};

macro_rules! lanes {
    ($name:ident($register:ident), $number:ident, $bits:ident, $width:literal) => {
        #[derive(Clone, Copy)]
        pub struct $name($register);

        impl $name {
            #[inline(always)]
            fn bits(self) -> $bits {
                bytemuck::cast(self.0)
            }
        }

        impl Lanes for $name {
            const WIDTH: usize = $width;
            precision!($number);

            #[inline(always)]
            fn splat(value: f64) -> Self {
                Self($register::splat(value as $number))
            }

            #[inline(always)]
            fn load(from: &[f64]) -> Self {
                let from = &from[..$width];
                let mut all = [0.0; $width];
                for lane in 0..$width {
                    all[lane] = from[lane] as $number;
                }
                Self($register::from(all))
            }

            #[inline(always)]
            fn store(self, to: &mut [f64]) {
                let to = &mut to[..$width];
                let all = self.0.to_array();
                for lane in 0..$width {
                    to[lane] = f64::from(all[lane]);
                }
            }

            #[inline(always)]
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }

            #[inline(always)]
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }

            #[inline(always)]
            fn mul(self, other: Self) -> Self {
                Self(self.0 * other.0)
            }

            #[inline(always)]
            fn div(self, other: Self) -> Self {
                Self(self.0 / other.0)
            }

            #[inline(always)]
            fn max(self, other: Self) -> Self {
                Self(self.0.fast_max(other.0))
            }

            #[inline(always)]
            fn sqrt(self) -> Self {
                Self(self.0.sqrt())
            }

            #[inline(always)]
            fn mul_add(self, factor: Self, term: Self) -> Self {
                Self(self.0.mul_add(factor.0, term.0))
            }

            #[inline(always)]
            fn mul_sub(self, factor: Self, term: Self) -> Self {
                Self(self.0.mul_sub(factor.0, term.0))
            }

            #[inline(always)]
            fn mul_and_take(self, factor: Self, term: Self) -> Self {
                Self(self.0.mul_neg_add(factor.0, term.0))
            }

            #[inline(always)]
            fn flipped_by(self, parity: Self) -> Self {
                let sign = parity.bits() << (8 * size_of::<$number>() as u32 - 1);
                Self(bytemuck::cast(self.bits() ^ sign))
            }

            #[inline(always)]
            fn joined(self, other: Self) -> Self {
                Self(bytemuck::cast(self.bits() ^ other.bits()))
            }
        }
    };
}

lanes!(Portable(f64x4), f64, u64x4, 4);
lanes!(PortableSingle(f32x8), f32, u32x8, 8);
