//! Sine, cosine and exponential of a register, by polynomials.
//!
//! The argument of sine and cosine is given in half turns, as a product: the fused remainder
//! a·b − n is then exact to its last bit however large the product. On |r| ≤ 1/2,
//! sin πr = r·P(r²) and cos πr = Q(r²), both of eight terms, near-minimax (Chebyshev) in r²;
//! largest errors 1.8·10⁻¹⁶ and 2·10⁻¹⁵ before rounding. In single precision six
//! terms are left, and errors of 2·10⁻⁷.

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

/// The first `N` of `numbers`, each in a register of its own.
#[inline(always)]
pub(super) fn spread<V: Lanes, const N: usize>(numbers: &[f64]) -> [V; N] {
    let mut registers = [V::splat(0.0); N];
    for (register, &number) in registers.iter_mut().zip(numbers) {
        *register = V::splat(number);
    }
    registers
}

#[inline(always)]
pub(super) fn horner<V: Lanes, const N: usize>(coefficients: &[V; N], x: V) -> V {
    let mut sum = coefficients[N - 1];
    for &coefficient in coefficients[..N - 1].iter().rev() {
        sum = sum.mul_add(x, coefficient);
    }
    sum
}

/// The polynomials P and Q. The kernel holds them as a value rather than as constants, so that the
/// compiler reads them from memory as operands instead of loading each into a register first.
#[derive(Clone, Copy)]
pub(super) struct Turn<T> {
    sine: [T; 8],
    cosine: [T; 8],
}

impl Turn<f64> {
    pub(super) fn new() -> Self {
        std::hint::black_box(Self {
            sine: SINE,
            cosine: COSINE,
        })
    }

    #[inline(always)]
    pub(super) fn spread<V: Lanes>(&self) -> Turn<V> {
        Turn {
            sine: spread(&self.sine),
            cosine: spread(&self.cosine),
        }
    }
}

/// Sine and cosine without their common sign, and the register whose parity is it.
#[derive(Clone, Copy)]
pub(super) struct SineCosine<V> {
    pub sine: V,
    pub cosine: V,
    pub parity: V,
}

impl<V: Lanes> Turn<V> {
    /// Of π a b and of π c b, step by step together: even and odd terms of four polynomials make
    /// eight independent sums, which keeps the multipliers busy. A cosine that is not used costs
    /// nothing.
    #[inline(always)]
    pub(super) fn sines_cosines(&self, a: V, c: V, b: V) -> [SineCosine<V>; 2] {
        let (r, r_parity) = a.turned(b);
        let (q, q_parity) = c.turned(b);
        let (r1, q1) = (r.mul(r), q.mul(q));
        let (r2, q2) = (r1.mul(r1), q1.mul(q1));
        let (sine, cosine) = (&self.sine, &self.cosine);
        let last = 2 * V::PAIRS - 2;
        let (mut r_sine, mut r_cosine) = (
            [sine[last], sine[last + 1]],
            [cosine[last], cosine[last + 1]],
        );
        let (mut q_sine, mut q_cosine) = (r_sine, r_cosine);
        for pair in (0..V::PAIRS - 1).rev() {
            let term = 2 * pair;
            for odd in [0, 1] {
                r_sine[odd] = r_sine[odd].mul_add(r2, sine[term + odd]);
                r_cosine[odd] = r_cosine[odd].mul_add(r2, cosine[term + odd]);
                q_sine[odd] = q_sine[odd].mul_add(q2, sine[term + odd]);
                q_cosine[odd] = q_cosine[odd].mul_add(q2, cosine[term + odd]);
            }
        }
        [
            SineCosine {
                sine: r_sine[1].mul_add(r1, r_sine[0]).mul(r),
                cosine: r_cosine[1].mul_add(r1, r_cosine[0]),
                parity: r_parity,
            },
            SineCosine {
                sine: q_sine[1].mul_add(q1, q_sine[0]).mul(q),
                cosine: q_cosine[1].mul_add(q1, q_cosine[0]),
                parity: q_parity,
            },
        ]
    }
}

/// Terms of the longest power series of the exponential.
pub(in crate::acoustics) const SERIES: usize = 13;

/// The first terms of e^{−αx} as a series in x.
pub(in crate::acoustics) fn decay_series(alpha: f64) -> [f64; SERIES] {
    let mut term = 1.0;
    std::array::from_fn(|index| {
        if index > 0 {
            term *= -alpha / index as f64;
        }
        term
    })
}

/// Greatest |αx| for which the first `terms` terms leave out no more than `left_out`, by the next one,
/// (αx)^terms / terms!.
pub(super) fn reach_of_series(terms: usize, left_out: f64) -> f64 {
    let factorial: f64 = (1..=terms).map(|n| n as f64).product();
    (left_out * factorial).powf(1.0 / terms as f64)
}

/// (Σ c_n x^n)^(2^squarings).
#[inline(always)]
pub(super) fn decay<V: Lanes, const N: usize>(series: &[V; N], x: V, squarings: u32) -> V {
    let mut sum = horner(series, x);
    for _ in 0..squarings {
        sum = sum.mul(sum);
    }
    sum
}

/// cos 2x from cos x.
#[inline(always)]
pub(super) fn doubled<V: Lanes>(cosine: V) -> V {
    cosine.add(cosine).mul_sub(cosine, V::splat(1.0))
}

#[cfg(test)]
mod tests {
    use super::super::lanes::Portable;
    use super::*;

    fn turn() -> Turn<Portable> {
        Turn::new().spread()
    }

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
            let [of_phase, of_slope] = turn().sines_cosines(a, a, b);
            let SineCosine {
                sine,
                cosine,
                parity,
            } = of_phase;
            let angle = turns * std::f64::consts::PI;
            let at = |v: Portable| lane(v.flipped_by(parity));
            assert!((at(sine) - angle.sin()).abs() < 3e-15, "{turns}");
            assert!((at(cosine) - angle.cos()).abs() < 3e-15, "{turns}");
            assert_eq!(lane(of_slope.sine), lane(sine));
            assert_eq!(lane(of_slope.cosine), lane(cosine));
        }
    }

    #[test]
    fn a_sine_of_almost_nothing_keeps_its_relative_accuracy() {
        let tiny = lane(
            turn().sines_cosines(
                Portable::splat(1e-30),
                Portable::splat(0.0),
                Portable::splat(1.0),
            )[0]
            .sine,
        );
        approx::assert_relative_eq!(tiny, std::f64::consts::PI * 1e-30, max_relative = 1e-15);
    }

    #[test]
    fn a_series_within_its_reach_is_right_to_2e_13() {
        fn check<const N: usize>() {
            let reach = reach_of_series(N, Portable::LEFT_OUT);
            for step in -20..=20 {
                let x = reach * f64::from(step) / 20.0;
                let sum = lane(decay::<_, N>(
                    &spread(&decay_series(1.0)),
                    Portable::splat(x),
                    0,
                ));
                approx::assert_relative_eq!(sum, (-x).exp(), max_relative = 2e-13);
            }
        }
        check::<5>();
        check::<7>();
        check::<13>();
    }
}
