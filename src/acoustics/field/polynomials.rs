//! Sine, cosine and exponential of a register, by polynomials.
//!
//! The argument of sine and cosine is given in half turns, as a product: the fused remainder
//! a·b − n is then exact to its last bit however large the product. On |r| ≤ 1/2,
//! sin πr = r·P(r²) and cos πr = Q(r²), both of eight terms, near-minimax (Chebyshev) in r²;
//! largest errors 1.8·10⁻¹⁶ and 2·10⁻¹⁵ before rounding.

use super::lanes::Lanes;

const SINE: [f64; 8] = [
    3.1415926535897927,
    -5.1677127800497855,
    2.5501640398618677,
    -0.599264528825224,
    0.08214587881631043,
    -0.0073703643265304155,
    0.0004659870158043378,
    -2.113362735205297e-05,
];

const COSINE: [f64; 8] = [
    0.9999999999999981,
    -4.934802200543686,
    4.058712126333295,
    -1.3352627661817635,
    0.23533058831317874,
    -0.025806531975921563,
    0.0019278700526981333,
    -0.0001004164642205389,
];

#[inline(always)]
fn horner<V: Lanes, const N: usize>(coefficients: &[f64; N], x: V) -> V {
    let mut sum = V::splat(coefficients[N - 1]);
    for &coefficient in coefficients[..N - 1].iter().rev() {
        sum = sum.mul_add(x, V::splat(coefficient));
    }
    sum
}

/// sin(π a b).
#[inline(always)]
pub(super) fn sin_half_turns<V: Lanes>(a: V, b: V) -> V {
    let (r, parity) = a.turned(b);
    horner(&SINE, r.mul(r)).mul(r).flipped_by(parity)
}

/// sin(π a b) and cos(π a b) without their common sign, and the register whose parity is it.
#[inline(always)]
pub(super) fn sin_cos_half_turns<V: Lanes>(a: V, b: V) -> (V, V, V) {
    let (r, parity) = a.turned(b);
    let square = r.mul(r);
    let sine = horner(&SINE, square).mul(r);
    (sine, horner(&COSINE, square), parity)
}

/// Terms of the longest power series of the exponential.
pub(super) const SERIES: usize = 13;

/// The first terms of e^{−αx} as a series in x.
pub(super) fn decay_series(alpha: f64) -> [f64; SERIES] {
    let mut term = 1.0;
    std::array::from_fn(|index| {
        if index > 0 {
            term *= -alpha / index as f64;
        }
        term
    })
}

/// Greatest |αx| for which the first `terms` terms leave out less than 10⁻¹⁴: the next one,
/// (αx)^terms / terms!, and what follows it.
pub(super) fn reach_of_series(terms: usize) -> f64 {
    let factorial: f64 = (1..=terms).map(|n| n as f64).product();
    (0.9e-14 * factorial).powf(1.0 / terms as f64)
}

/// (Σ c_n x^n)^(2^squarings) over the first `N` terms of `series`.
#[inline(always)]
pub(super) fn decay<V: Lanes, const N: usize>(series: &[f64; SERIES], x: V, squarings: u32) -> V {
    let mut sum = V::splat(series[N - 1]);
    for &coefficient in series[..N - 1].iter().rev() {
        sum = sum.mul_add(x, V::splat(coefficient));
    }
    for _ in 0..squarings {
        sum = sum.mul(sum);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::super::lanes::Portable;
    use super::*;

    fn lane(value: Portable) -> f64 {
        let mut out = [0.0; 4];
        value.store(&mut out);
        out[0]
    }

    #[test]
    fn sine_and_cosine_are_right_to_3e_15_on_any_half_turn() {
        for step in -4000..=4000 {
            let turns = f64::from(step) * 0.000_37;
            let (a, b) = (Portable::splat(turns), Portable::splat(1.0));
            let (sine, cosine, parity) = sin_cos_half_turns(a, b);
            let angle = turns * std::f64::consts::PI;
            let at = |v: Portable| lane(v.flipped_by(parity));
            assert!((at(sine) - angle.sin()).abs() < 3e-15, "{turns}");
            assert!((at(cosine) - angle.cos()).abs() < 3e-15, "{turns}");
            assert_eq!(lane(sin_half_turns(a, b)), at(sine));
        }
    }

    #[test]
    fn a_sine_of_almost_nothing_keeps_its_relative_accuracy() {
        let tiny = lane(sin_half_turns(Portable::splat(1e-30), Portable::splat(1.0)));
        approx::assert_relative_eq!(tiny, std::f64::consts::PI * 1e-30, max_relative = 1e-15);
    }

    #[test]
    fn a_series_within_its_reach_is_right_to_2e_14() {
        fn check<const N: usize>() {
            let reach = reach_of_series(N);
            for step in -20..=20 {
                let x = reach * f64::from(step) / 20.0;
                let sum = lane(decay::<_, N>(&decay_series(1.0), Portable::splat(x), 0));
                approx::assert_relative_eq!(sum, (-x).exp(), max_relative = 2e-14);
            }
        }
        check::<5>();
        check::<8>();
        check::<13>();
    }
}
