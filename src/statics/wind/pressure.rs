//! How hard does wind press on a body?
//!
//! q = ½ ρ v². From terrain data (EN 1991-1-4:2005, 4.3 to 4.5), with basic speed v_b and height z
//! (at least z_min):
//! k_r = 0.19 (z₀/0.05)^0.07, c_r = k_r ln(z/z₀), v_m = c_r c_o v_b, I_v = k_I/(c_o ln(z/z₀)),
//! q_p = (1 + 7 I_v) ½ ρ v_m². A body takes F = c_s c_d c_f q A (5.3).
//!
//! Table 4.1 and figure 7.23 are from memory; the numbers of the table are also those of eurocodepy
//! 2027.0.12.

use crate::error::{InputError, Result, accept, non_negative, positive, within_range};

/// Density of air recommended by EN 1991-1-4:2005, 4.5.
pub const AIR_DENSITY_KG_M3: f64 = 1.25;

/// A terrain category of EN 1991-1-4:2005, table 4.1 (from memory).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Terrain {
    /// Its name there.
    pub name: &'static str,
    /// Roughness length z₀.
    pub roughness_m: f64,
    /// Height z_min below which the wind is taken as at that height.
    pub least_height_m: f64,
}

/// EN 1991-1-4:2005, table 4.1 (from memory).
pub const TERRAINS: [Terrain; 5] = [
    terrain("0", 0.003, 1.0),
    terrain("I", 0.01, 1.0),
    terrain("II", 0.05, 2.0),
    terrain("III", 0.3, 5.0),
    terrain("IV", 1.0, 10.0),
];

const fn terrain(name: &'static str, roughness_m: f64, least_height_m: f64) -> Terrain {
    Terrain {
        name,
        roughness_m,
        least_height_m,
    }
}

/// Force coefficients c_f,0 of rectangular sections with sharp corners over depth/width, along and
/// across the wind: corners of figure 7.23, EN 1991-1-4:2005 (from memory). Linear in the
/// logarithm of depth/width between them.
const SECTION_COEFFICIENTS: [(f64, f64); 8] = [
    (0.1, 2.0),
    (0.2, 2.0),
    (0.6, 2.35),
    (0.7, 2.4),
    (1.0, 2.1),
    (2.0, 1.65),
    (5.0, 1.0),
    (10.0, 0.9),
];

/// The wind at one height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PeakPressure {
    /// Mean speed v_m.
    pub mean_speed_m_s: f64,
    /// Turbulence intensity I_v.
    pub turbulence: f64,
    /// Peak velocity pressure q_p.
    pub pressure_pa: f64,
}

/// Where the pressure comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wind {
    /// The same gust speed everywhere.
    Speed {
        /// Speed.
        speed_m_s: f64,
        /// Density of air.
        density_kg_m3: f64,
    },
    /// Peak velocity pressure by EN 1991-1-4.
    Terrain {
        /// Basic wind speed v_b.
        basic_speed_m_s: f64,
        /// Terrain category.
        terrain: Terrain,
        /// Orography factor c_o.
        orography: f64,
        /// Turbulence factor k_I.
        turbulence_factor: f64,
        /// Density of air.
        density_kg_m3: f64,
    },
}

impl Terrain {
    /// The category of that name.
    ///
    /// # Errors
    /// Another name.
    pub fn named(name: &str) -> Result<Self> {
        TERRAINS
            .into_iter()
            .find(|terrain| terrain.name == name)
            .ok_or_else(|| InputError::new("terrain", name, "0, I, II, III or IV"))
    }
}

impl Wind {
    /// Accepts speeds of at least 0, densities and factors above 0.
    ///
    /// # Errors
    /// A field out of bounds.
    pub fn check(&self) -> Result<()> {
        match *self {
            Self::Speed {
                speed_m_s,
                density_kg_m3,
            } => {
                non_negative("speed_m_s", speed_m_s)?;
                positive("density_kg_m3", density_kg_m3).map(drop)
            }
            Self::Terrain {
                basic_speed_m_s,
                orography,
                turbulence_factor,
                density_kg_m3,
                ..
            } => {
                non_negative("basic_speed_m_s", basic_speed_m_s)?;
                positive("orography", orography)?;
                positive("turbulence_factor", turbulence_factor)?;
                positive("density_kg_m3", density_kg_m3).map(drop)
            }
        }
    }

    /// The wind at a height above ground of 0 to 200 m.
    ///
    /// # Errors
    /// A field out of bounds.
    pub fn at(&self, height_m: f64) -> Result<PeakPressure> {
        self.check()?;
        within_range("height_m", height_m, 0.0, 200.0)?;
        Ok(match *self {
            Self::Speed {
                speed_m_s,
                density_kg_m3,
            } => PeakPressure {
                mean_speed_m_s: speed_m_s,
                turbulence: 0.0,
                pressure_pa: 0.5 * density_kg_m3 * speed_m_s * speed_m_s,
            },
            Self::Terrain {
                basic_speed_m_s,
                terrain,
                orography,
                turbulence_factor,
                density_kg_m3,
            } => {
                let profile = (height_m.max(terrain.least_height_m) / terrain.roughness_m).ln();
                let roughness = 0.19 * (terrain.roughness_m / 0.05).powf(0.07) * profile;
                let mean_speed_m_s = roughness * orography * basic_speed_m_s;
                let turbulence = turbulence_factor / (orography * profile);
                PeakPressure {
                    mean_speed_m_s,
                    turbulence,
                    pressure_pa: (1.0 + 7.0 * turbulence)
                        * 0.5
                        * density_kg_m3
                        * mean_speed_m_s
                        * mean_speed_m_s,
                }
            }
        })
    }
}

/// Force coefficient of a rectangular section, sharp corners, no free end: c_f,0.
///
/// # Errors
/// A size not above zero, or depth over width not within 0.1 to 10.
pub fn section_coefficient(width_m: f64, depth_m: f64) -> Result<f64> {
    let ratio = positive("depth_m", depth_m)? / positive("width_m", width_m)?;
    let [first, .., last] = SECTION_COEFFICIENTS;
    accept(
        ratio >= first.0 && ratio <= last.0,
        "depth_m",
        depth_m,
        format!(
            "{} to {} times the width of {width_m} m; state a coefficient beyond",
            first.0, last.0
        ),
    )?;
    let above = SECTION_COEFFICIENTS
        .iter()
        .position(|corner| corner.0 >= ratio)
        .unwrap_or(SECTION_COEFFICIENTS.len() - 1)
        .max(1);
    let ((low, start), (high, end)) =
        (SECTION_COEFFICIENTS[above - 1], SECTION_COEFFICIENTS[above]);
    Ok(start + (end - start) * (ratio / low).ln() / (high / low).ln())
}
