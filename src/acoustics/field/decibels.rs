//! 10 lg of several energies at once.
//!
//! With x = m·2^e, √½ ≤ m < √2 and s = (m − 1)/(m + 1), ln m = 2 (s + s³/3 + s⁵/5 + …): nine terms
//! leave out less than 10⁻¹⁵, and no library call stands in the way of working side by side.

use super::lanes::TILE;
use std::f64::consts::{LN_2, LN_10};

/// Bits of √½, whose exponent and mantissa are taken off together to split x about it.
const ROOT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
const MANTISSA: u64 = (1 << 52) - 1;

/// Level of each energy in dB, 0 dB being energy 1.
#[must_use]
pub(super) fn of_energies(energy: [f64; TILE]) -> [f64; TILE] {
    if energy
        .iter()
        .all(|e| (f64::MIN_POSITIVE..f64::INFINITY).contains(e))
    {
        energy.map(of_energy)
    } else {
        energy.map(|energy| 10.0 * energy.log10())
    }
}

#[inline(always)]
fn of_energy(energy: f64) -> f64 {
    let above = energy.to_bits().wrapping_sub(ROOT_HALF);
    let exponent = f64::from((above as i64 >> 52) as i32);
    let m = f64::from_bits((above & MANTISSA).wrapping_add(ROOT_HALF));
    let s = (m - 1.0) / (m + 1.0);
    let square = s * s;
    let mut series = 1.0 / 17.0;
    for odd in [15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0, 1.0] {
        series = series * square + 1.0 / odd;
    }
    10.0 / LN_10 * (2.0 * s * series + exponent * LN_2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_are_the_librarys_over_the_whole_range() {
        for power in -300..300 {
            for step in 1..40 {
                let energy = 10f64.powi(power) * (0.25 * f64::from(step));
                let [level_db, ..] = of_energies([energy; TILE]);
                approx::assert_relative_eq!(
                    level_db,
                    10.0 * energy.log10(),
                    max_relative = 1e-14,
                    epsilon = 1e-14
                );
            }
        }
    }

    #[test]
    fn silence_has_no_level() {
        let mut energy = [1.0; TILE];
        energy[3] = 0.0;
        assert_eq!(of_energies(energy)[3], f64::NEG_INFINITY);
        assert_eq!(of_energies(energy)[0], 0.0);
    }
}
