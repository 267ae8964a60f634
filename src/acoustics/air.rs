//! How fast sound travels in air, and how much of it the air takes.
//!
//! Absorption: ISO 9613-1:1993, equations (3) to (5) and annex B. Speed: ideal gas,
//! c = √(γ R T / M), with γ = (7 + h)/(5 + h) and M of moist air from the mole fraction h of
//! water vapour (D. A. Bohn, "Environmental effects on the speed of sound", J. Audio Eng. Soc.
//! 36(4), 1988).

use crate::model::{Air, Valid};

/// Reference pressure p_r, ISO 9613-1.
const REFERENCE_PRESSURE_KPA: f64 = 101.325;
/// Reference temperature T₀, ISO 9613-1.
const REFERENCE_K: f64 = 293.15;
/// Triple point of water T₀₁, ISO 9613-1 annex B.
const TRIPLE_POINT_K: f64 = 273.16;
/// 0 °C.
const FREEZING_K: f64 = 273.15;
/// Molar gas constant, CODATA 2018, exact.
const GAS_CONSTANT_J_MOL_K: f64 = 8.314_462_618_153_24;
/// Molar mass of dry air, U.S. Standard Atmosphere 1976.
const DRY_AIR_KG_MOL: f64 = 0.028_964_4;
/// Molar mass of water.
const WATER_KG_MOL: f64 = 0.018_015_3;

/// Mole fraction of water vapour, ISO 9613-1 annex B: h = h_r (p_sat/p_r)/(p_a/p_r).
fn water_fraction(air: &Air) -> f64 {
    let kelvin = air.temperature_c + FREEZING_K;
    let saturation = 10f64.powf(-6.8346 * (TRIPLE_POINT_K / kelvin).powf(1.261) + 4.6151);
    let humidity = air.humidity_percent / 100.0;
    (humidity * saturation * REFERENCE_PRESSURE_KPA / air.pressure_kpa).min(1.0)
}

/// Speed of sound in moist air in m/s.
#[must_use]
pub fn sound_speed_m_s(air: &Valid<Air>) -> f64 {
    let vapour = water_fraction(air);
    let heat_ratio = (7.0 + vapour) / (5.0 + vapour);
    let molar_mass = (1.0 - vapour) * DRY_AIR_KG_MOL + vapour * WATER_KG_MOL;
    (heat_ratio * GAS_CONSTANT_J_MOL_K * (air.temperature_c + FREEZING_K) / molar_mass).sqrt()
}

/// Attenuation of pure tones by the air, ISO 9613-1:1993, equations (3) to (5).
///
/// The standard states ±10 % for 0.05 to 5 % of water vapour by volume, −20 to 50 °C, below
/// 200 kPa, and frequency over pressure of 4·10⁻⁴ to 10 Hz/Pa.
#[derive(Clone, Copy, Debug)]
pub struct Absorption {
    classical: f64,
    /// Oxygen and nitrogen: strength, and relaxation frequency.
    relaxing: [(f64, f64); 2],
}

impl Absorption {
    /// What does not depend on frequency.
    #[must_use]
    pub fn of(air: &Valid<Air>) -> Self {
        let kelvin = air.temperature_c + FREEZING_K;
        let pressure = air.pressure_kpa / REFERENCE_PRESSURE_KPA;
        let warmth = kelvin / REFERENCE_K;
        let vapour_percent = 100.0 * water_fraction(air);
        let oxygen_hz = pressure
            * (24.0 + 4.04e4 * vapour_percent * (0.02 + vapour_percent) / (0.391 + vapour_percent));
        let nitrogen_hz = pressure
            * warmth.powf(-0.5)
            * (9.0 + 280.0 * vapour_percent * (-4.170 * (warmth.cbrt().recip() - 1.0)).exp());
        let strength =
            |factor: f64, theta_k: f64| factor * (-theta_k / kelvin).exp() * warmth.powf(-2.5);
        Self {
            classical: 1.84e-11 / pressure * warmth.sqrt(),
            relaxing: [
                (strength(0.01275, 2239.1), oxygen_hz),
                (strength(0.1068, 3352.0), nitrogen_hz),
            ],
        }
    }

    /// Attenuation at `frequency_hz` in dB/m.
    #[must_use]
    pub fn db_per_m(&self, frequency_hz: f64) -> f64 {
        let square = frequency_hz * frequency_hz;
        let mut sum = self.classical;
        for (strength, relaxation_hz) in self.relaxing {
            sum += strength / (relaxation_hz + square / relaxation_hz);
        }
        8.686 * square * sum
    }
}

/// Attenuation of one pure tone in dB/m; see [`Absorption`].
#[must_use]
pub fn absorption_db_per_m(air: &Valid<Air>, frequency_hz: f64) -> f64 {
    Absorption::of(air).db_per_m(frequency_hz)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_dry_standard_atmosphere_has_the_speed_of_its_gas_constant() {
        // U.S. Standard Atmosphere 1976, table I: 340.294 m/s at 15 °C, dry, with its gas constant
        // of 8.31432 J/(mol K).
        let expected = 340.294 * (GAS_CONSTANT_J_MOL_K / 8.31432).sqrt();
        let dry = Valid::new(Air {
            temperature_c: 15.0,
            humidity_percent: 1e-9,
            pressure_kpa: 101.325,
        })
        .unwrap();
        assert_relative_eq!(sound_speed_m_s(&dry), expected, max_relative = 2e-6);
    }

    #[test]
    fn twice_the_pressure_scales_the_curve_in_frequency() {
        // With the water fraction kept, α/p depends on f/p alone (ISO 9613-1, equations 3 to 5).
        let air = |pressure_kpa, humidity_percent| {
            Valid::new(Air {
                temperature_c: 20.0,
                humidity_percent,
                pressure_kpa,
            })
            .unwrap()
        };
        let one = absorption_db_per_m(&air(101.325, 40.0), 4000.0);
        let half = absorption_db_per_m(&air(50.6625, 20.0), 2000.0);
        assert_relative_eq!(half, one / 2.0, max_relative = 1e-12);
    }
}
