//! A joint's own turn, cheap to bring up to date after a small change.

use nalgebra::{Complex, UnitComplex};

/// Up to this change of angle, cosine and sine go on from the last full ones. The first terms left
/// out of their series, δ⁸/8! and δ⁷/7!, are below 1e-17.
const NEAR_RAD: f64 = 0.005;

/// cos and sin of an angle, with the angle at which they were last computed in full.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct JointTurn {
    full_rad: f64,
    full: UnitComplex<f64>,
}

impl JointTurn {
    /// The turn by `angle_rad`.
    pub fn to(&mut self, angle_rad: f64) -> UnitComplex<f64> {
        let change = angle_rad - self.full_rad;
        if change == 0.0 {
            return self.full;
        }
        if change.abs() > NEAR_RAD {
            *self = Self {
                full_rad: angle_rad,
                full: UnitComplex::new(angle_rad),
            };
            return self.full;
        }
        let square = change * change;
        let cos = 1.0 - square / 2.0 * (1.0 - square / 12.0 * (1.0 - square / 30.0));
        let sin = change * (1.0 - square / 6.0 * (1.0 - square / 20.0));
        self.full * UnitComplex::new_unchecked(Complex::new(cos, sin))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_changes_are_as_good_as_the_full_functions() {
        let mut turn = JointTurn::default();
        let mut angle = 0.0_f64;
        for step in 0..20_000 {
            angle += 1e-6 * f64::from(step % 1003) - 3e-4;
            let found = turn.to(angle);
            assert!((found.re - angle.cos()).abs() < 5e-16, "{angle}");
            assert!((found.im - angle.sin()).abs() < 5e-16, "{angle}");
        }
    }
}
