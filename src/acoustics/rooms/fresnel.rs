//! The half plane's factor F(ν).
//!
//! With the auxiliary functions of the Fresnel integrals (Abramowitz and Stegun 7.3.5 and 7.3.6),
//! F(ν) = (g + f + j (g − f))/2 · e^{−jπν²/2} for ν ≥ 0, and F(−ν) = 1 − F(ν). f and g are rational
//! functions fitted to `scipy.special.wofz`; what they are off is at most 5·10⁻⁵ of f(ν)
//! (`tests/python/validation/fresnel_fit.py` makes them).

use nalgebra::Complex;
use std::f64::consts::PI;

/// f(ν) = P/Q: coefficients of rising powers.
pub(in crate::acoustics) const FRESNEL_F: ([f64; 4], [f64; 5]) = (
    [0.5, 0.610_088_941, 0.220_268_238, 0.324_185_413],
    [1.0, 1.220_999_71, 1.984_182_16, 0.687_518_563, 1.018_506_04],
);

/// g(ν) = P/Q.
pub(in crate::acoustics) const FRESNEL_G: ([f64; 3], [f64; 6]) = (
    [0.5, 0.075_922_860_4, 0.128_271_978],
    [
        1.0,
        2.153_406_62,
        2.958_508_67,
        2.780_531_84,
        1.292_127_53,
        1.221_430_54,
    ],
);

/// In the light, F is that of the half plane up to this −ν.
pub(in crate::acoustics) const LIT_FULL: f64 = 3.0;

/// In the light, F is 1 from this −ν on.
pub const LIT_END: f64 = 4.0;

fn polynomial(coefficients: &[f64], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// F for a detour of `detour_waves` wavelengths, negative where the path is free.
///
/// In the light 1 − F is faded out, linearly in ν², between ν = −3 and [`LIT_END`].
#[must_use]
pub fn factor(detour_waves: f64) -> Complex<f64> {
    let waves = detour_waves.abs();
    let square = 4.0 * waves;
    let share = if detour_waves > 0.0 {
        1.0
    } else {
        let [full, end] = [LIT_FULL * LIT_FULL, LIT_END * LIT_END];
        ((end - square) / (end - full)).clamp(0.0, 1.0)
    };
    if share == 0.0 {
        return Complex::ONE;
    }
    if waves == f64::INFINITY {
        return Complex::ZERO;
    }
    let nu = square.sqrt();
    let f = polynomial(&FRESNEL_F.0, nu) / polynomial(&FRESNEL_F.1, nu);
    let g = polynomial(&FRESNEL_G.0, nu) / polynomial(&FRESNEL_G.1, nu);
    let behind = Complex::new(g + f, g - f) * Complex::from_polar(0.5, -2.0 * PI * waves);
    if detour_waves > 0.0 {
        behind
    } else {
        Complex::new(1.0, 0.0) - behind * share
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn at_grazing_half_the_pressure_is_left_from_both_sides() {
        for waves in [0.0, 1e-18, -1e-18] {
            assert_relative_eq!(factor(waves).norm(), 0.5, max_relative = 1e-8);
        }
        assert_relative_eq!(20.0 * factor(0.0).norm().log10(), -6.0206, epsilon = 1e-4);
    }

    #[test]
    fn light_and_shadow_add_up_to_the_free_field() {
        for waves in [0.01, 0.3, 1.0, 2.2] {
            assert!((factor(waves) + factor(-waves) - Complex::ONE).norm() < 1e-15);
        }
        assert_eq!(factor(-4.0), Complex::ONE);
        assert_eq!(factor(f64::NEG_INFINITY), Complex::ONE);
        assert_eq!(factor(f64::INFINITY), Complex::ZERO);
    }
}
