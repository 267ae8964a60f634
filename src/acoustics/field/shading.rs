//! A cabinet's pressure at the receivers of a tile, times what bends round the edges in its way.
//!
//! [`rooms::factor`](crate::acoustics::rooms::factor) for a register of receivers: with κ = 2f/c half
//! turns a metre, ν² = 2κδ and the phase of the detour is πκδ, which is doubled from octave to octave
//! as in the kernel.

use super::kernel::{Task, doubled};
use super::lanes::{Lanes, TILE};
use super::polynomials::{horner, spread};
use crate::acoustics::rooms::{FRESNEL_F, FRESNEL_G, LIT_END, LIT_FULL};

/// Stands for a detour without end: still small enough to be a phase.
const ENDLESS_M: f64 = 1e9;

/// Adds `alone`, shaded, to `out`.
#[inline(always)]
pub(super) fn add_shaded<V: Lanes>(
    task: &Task<'_>,
    detour_m: &[f64],
    alone: &[f64],
    out: &mut [f64],
) {
    let lines = task.lines;
    let turn = task.turn.spread::<V>();
    let (f_above, f_below) = (spread(&FRESNEL_F.0), spread(&FRESNEL_F.1));
    let (g_above, g_below) = (spread(&FRESNEL_G.0), spread(&FRESNEL_G.1));
    let f = |nu: V| horner::<V, 4>(&f_above, nu).div(horner::<V, 5>(&f_below, nu));
    let g = |nu: V| horner::<V, 3>(&g_above, nu).div(horner::<V, 6>(&g_below, nu));
    // 1 in the light and 0 in the shadow; there what is behind the edge counts in full and not less.
    let of_each = |value: fn(f64) -> f64| {
        let mut values = [0.0; TILE];
        for (to, &detour) in values.iter_mut().zip(detour_m) {
            *to = value(detour);
        }
        values
    };
    let lit = of_each(|detour| if detour > 0.0 { 0.0 } else { 1.0 });
    let size = of_each(|detour| detour.abs().min(ENDLESS_M));
    let open = of_each(|detour| if detour == f64::INFINITY { 0.0 } else { 0.5 });
    let one = V::splat(1.0);
    let fade = 1.0 / (LIT_END * LIT_END - LIT_FULL * LIT_FULL);
    for lane in (0..TILE).step_by(V::WIDTH) {
        let (lit, detour) = (V::load(&lit[lane..]), V::load(&size[lane..]));
        let half_sign = one.sub(lit.add(lit)).mul(V::load(&open[lane..]));
        let in_full = one.sub(lit).mul(V::splat(2.0 * ENDLESS_M));
        for chain in &lines.chains {
            let base = V::splat(lines.half_turns_per_m[chain[0]]);
            let [phase, _] = turn.sines_cosines(detour, detour, base);
            let mut sine = phase.sine.flipped_by(phase.parity);
            let mut cosine = phase.cosine.flipped_by(phase.parity);
            for &line in chain {
                let square = detour.mul(V::splat(2.0 * lines.half_turns_per_m[line]));
                let (f, g) = (f(square.sqrt()), g(square.sqrt()));
                let left = V::splat(LIT_END * LIT_END).sub(square).mul(V::splat(fade));
                let left = one.sub(left.add(in_full.mul(square.add(one))));
                let share = one.sub(left.max(V::splat(0.0))).max(V::splat(0.0));
                let half = share.mul(half_sign);
                let (more, less) = (g.add(f).mul(half), g.sub(f).mul(half));
                let re = more.mul_add(cosine, less.mul(sine)).add(lit);
                let im = less.mul_sub(cosine, more.mul(sine));
                let at = line * 2 * TILE + lane;
                let (p_re, p_im) = (V::load(&alone[at..]), V::load(&alone[at + TILE..]));
                let q_re = p_re.mul_sub(re, p_im.mul(im));
                let q_im = p_re.mul_add(im, p_im.mul(re));
                q_re.add(V::load(&out[at..])).store(&mut out[at..]);
                let at = at + TILE;
                q_im.add(V::load(&out[at..])).store(&mut out[at..]);
                sine = cosine.add(cosine).mul(sine);
                cosine = doubled(cosine);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::acoustics::field::lanes::Portable;
    use crate::acoustics::{Lines, Sources, bands, rooms};
    use crate::model::{Air, Valid};
    use nalgebra::Complex;

    #[test]
    fn a_register_of_factors_is_the_factor_of_each() {
        let air = Valid::new(Air::default()).unwrap();
        let lines = Lines::of_bands(&bands::EVENNESS, 5, &air).unwrap();
        let sources = Sources::default();
        let task = Task::new(&sources, &lines);
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
        let size = lines.len() * 2 * TILE;
        let alone: Vec<f64> = (0..size).map(|i| (i as f64 * 0.7).sin()).collect();
        let mut out = vec![0.25; size];
        add_shaded::<Portable>(&task, &detour_m, &alone, &mut out);
        for (line, &f) in lines.frequency_hz().iter().enumerate() {
            for (lane, detour) in detour_m.iter().enumerate() {
                let at = line * 2 * TILE + lane;
                let p = Complex::new(alone[at], alone[at + TILE]);
                let q = p * rooms::factor(detour * f / lines.sound_speed_m_s());
                let got = Complex::new(out[at] - 0.25, out[at + TILE] - 0.25);
                assert!((got - q).norm() < 1e-7, "{detour} {f}: {got} {q}");
            }
        }
    }
}
