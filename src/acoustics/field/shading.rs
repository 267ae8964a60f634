//! What bends round the edges in a cabinet's way, for a register of receivers.
//!
//! [`rooms::factor`](crate::acoustics::rooms::factor): with κ = 2f/c half turns per metre, ν² = 2κδ and
//! the phase of the detour is πκδ. From octave to octave the phase is doubled as in the kernel, and ν
//! grows by √2.

use super::lanes::{Lanes, TILE};
use super::polynomials::{Turn, doubled, horner, spread};
use crate::acoustics::rooms::{FRESNEL_F, FRESNEL_G, LIT_END, LIT_FULL};
use std::f64::consts::SQRT_2;

/// The edges in the way from one cabinet to a register of receivers.
#[derive(Clone, Copy)]
pub(super) struct Edges<V> {
    /// 1 in the light, 0 in the shadow.
    lit: V,
    detour_m: V,
    /// Half, with the sign of what is behind the edge; 0 where nothing bends round it.
    half: V,
    /// Great in the shadow, where what is behind the edge counts in full.
    in_full: V,
    /// From so many half turns per metre on nothing is taken from any of the receivers.
    clear_from: f64,
}

impl<V: Lanes> Edges<V> {
    /// Of the detours to `V::WIDTH` receivers, as
    /// [`Room::detour_m`](crate::acoustics::rooms::Room::detour_m) gives them.
    #[inline(always)]
    pub(super) fn new(detour_m: &[f64]) -> Self {
        let of_each = |value: &dyn Fn(f64) -> f64| {
            let mut values = [0.0; TILE];
            for (to, &detour) in values[..V::WIDTH].iter_mut().zip(detour_m) {
                *to = value(detour);
            }
            V::load(&values)
        };
        let mut nearest_m = f64::INFINITY;
        for &detour in &detour_m[..V::WIDTH] {
            nearest_m = nearest_m.min(-detour);
        }
        Self {
            lit: of_each(&|detour| if detour > 0.0 { 0.0 } else { 1.0 }),
            detour_m: of_each(&|detour| detour.abs().min(V::ENDLESS_M)),
            half: of_each(&|detour| match detour {
                f64::INFINITY => 0.0,
                _ if detour > 0.0 => 0.5,
                _ => -0.5,
            }),
            in_full: of_each(&|detour| {
                if detour > 0.0 {
                    2.0 * V::ENDLESS_M
                } else {
                    0.0
                }
            }),
            clear_from: if nearest_m > 0.0 {
                LIT_END * LIT_END / (2.0 * nearest_m)
            } else {
                f64::INFINITY
            },
        }
    }

    /// Multiplies the sums of a chain of octaves by the factor.
    #[inline(always)]
    pub(super) fn shade(
        &self,
        turn: &Turn<V>,
        half_turns_per_m: &[f64],
        chain: &[usize],
        sums: &mut [[V; 2]],
    ) {
        let base = half_turns_per_m[chain[0]];
        if base >= self.clear_from {
            return;
        }
        let (f_above, f_below) = (spread::<V, 4>(&FRESNEL_F.0), spread::<V, 5>(&FRESNEL_F.1));
        let (g_above, g_below) = (spread::<V, 3>(&FRESNEL_G.0), spread::<V, 6>(&FRESNEL_G.1));
        let one = V::splat(1.0);
        let end = V::splat(LIT_END * LIT_END);
        let fade = V::splat(1.0 / (LIT_END * LIT_END - LIT_FULL * LIT_FULL));
        let [phase, _] = turn.sines_cosines(self.detour_m, self.detour_m, V::splat(base));
        let mut sine = phase.sine.flipped_by(phase.parity);
        let mut cosine = phase.cosine.flipped_by(phase.parity);
        let mut nu = self.detour_m.mul(V::splat(2.0 * base)).sqrt();
        for (&line, sum) in chain.iter().zip(sums) {
            if half_turns_per_m[line] >= self.clear_from {
                return;
            }
            let square = nu.mul(nu);
            let (f_below, g_below) = (horner(&f_below, nu), horner(&g_below, nu));
            let f = horner(&f_above, nu).mul(g_below);
            let g = horner(&g_above, nu).mul(f_below);
            let left = end.sub(square).mul(fade);
            let left = one.sub(left.add(self.in_full.mul(square.add(one))));
            let share = one.sub(left.max(V::splat(0.0))).max(V::splat(0.0));
            let half = share.mul(self.half).div(f_below.mul(g_below));
            let (more, less) = (g.add(f).mul(half), g.sub(f).mul(half));
            let re = more.mul_add(cosine, less.mul(sine)).add(self.lit);
            let im = less.mul_sub(cosine, more.mul(sine));
            let [p_re, p_im] = *sum;
            *sum = [
                p_re.mul_sub(re, p_im.mul(im)),
                p_re.mul_add(im, p_im.mul(re)),
            ];
            sine = cosine.add(cosine).mul(sine);
            cosine = doubled(cosine);
            nu = nu.mul(V::splat(SQRT_2));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::acoustics::field::lanes::Portable;
    use crate::acoustics::{Lines, bands, rooms};
    use crate::model::{Air, Valid};
    use nalgebra::Complex;

    #[test]
    fn a_register_of_factors_is_the_factor_of_each() {
        let air = Valid::new(Air::default()).unwrap();
        let lines = Lines::of_bands(&bands::EVENNESS, 5, &air).unwrap();
        let turn = Turn::new().spread::<Portable>();
        let detour_m = [
            0.0,
            1e-4,
            -1e-4,
            0.3,
            -0.02,
            -2.0,
            f64::NEG_INFINITY,
            f64::INFINITY,
        ];
        let [re, im] = [0.6, -0.8];
        for (start, detour_m) in detour_m.chunks(Portable::WIDTH).enumerate() {
            let edges = Edges::<Portable>::new(detour_m);
            for chain in &lines.chains {
                let mut sums = vec![[Portable::splat(re), Portable::splat(im)]; chain.len()];
                edges.shade(&turn, &lines.half_turns_per_m, chain, &mut sums);
                for (&line, sum) in chain.iter().zip(sums) {
                    let parts = sum.map(|part| {
                        let mut lanes = [0.0; TILE];
                        part.store(&mut lanes);
                        lanes
                    });
                    for (lane, detour) in detour_m.iter().enumerate() {
                        let waves = detour * lines.frequency_hz()[line] / lines.sound_speed_m_s();
                        let wanted = Complex::new(re, im) * rooms::factor(waves);
                        let got = Complex::new(parts[0][lane], parts[1][lane]);
                        let off = (got - wanted).norm();
                        assert!(off < 1e-7, "{start} {detour} {line}: {got} {wanted}");
                    }
                }
            }
        }
    }

    #[test]
    fn lines_for_which_all_paths_are_clear_are_left_alone() {
        let edges = Edges::<Portable>::new(&[-1.0, -2.0, f64::NEG_INFINITY, -3.0]);
        let turn = Turn::new().spread::<Portable>();
        let half_turns_per_m = [7.9, 8.1];
        let mut sums = [[Portable::splat(1.0), Portable::splat(0.0)]; 2];
        edges.shade(&turn, &half_turns_per_m, &[0, 1], &mut sums);
        let mut lanes = [0.0; TILE];
        sums[0][0].store(&mut lanes);
        assert!(lanes[0] != 1.0 && lanes[1] == 1.0);
        sums[1][0].store(&mut lanes);
        assert_eq!(lanes[..4], [1.0; 4]);
    }
}
