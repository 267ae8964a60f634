//! Wind, and built against planned, at the Python face.

use super::arrays::{Array, degrees, points, table};
use super::model::Hang;
use super::statics::{LiftingRow, LimitFields, lifting_of, limit_rows};
use crate::error::{InputError, Result};
use crate::pose::Hanging;
use crate::statics::survey::{self, Quantity, Reading, Verdict};
use crate::statics::wind::limits::{WindLimits, speeds_at_limits};
use crate::statics::wind::oblique;
use crate::statics::wind::parts::{TautChain, parts_in_wind as parts_of};
use crate::statics::wind::pressure::{Terrain, Wind, section_coefficient as coefficient_of};
use crate::statics::wind::swing::{From, Shadow, WindInput, wind_loads as loads_of};
use pyo3::prelude::*;

/// Speed, density, and for a terrain profile its name, orography and turbulence factor.
type WindRow = (f64, f64, Option<(String, f64, f64)>);

fn wind_of(row: &WindRow) -> Result<Wind> {
    let (speed_m_s, density_kg_m3, ref profile) = *row;
    Ok(match *profile {
        None => Wind::Speed {
            speed_m_s,
            density_kg_m3,
        },
        Some((ref name, orography, turbulence_factor)) => Wind::Terrain {
            basic_speed_m_s: speed_m_s,
            terrain: Terrain::named(name)?,
            orography,
            turbulence_factor,
            density_kg_m3,
        },
    })
}

#[derive(IntoPyObject)]
struct PressureFields {
    mean_speed_m_s: f64,
    turbulence: f64,
    pressure_pa: f64,
}

#[pyfunction]
fn wind_pressure(wind: WindRow, height_m: f64) -> Result<PressureFields> {
    let peak = wind_of(&wind)?.at(height_m)?;
    Ok(PressureFields {
        mean_speed_m_s: peak.mean_speed_m_s,
        turbulence: peak.turbulence,
        pressure_pa: peak.pressure_pa,
    })
}

#[pyfunction]
fn section_coefficient(width_m: f64, depth_m: f64) -> Result<f64> {
    coefficient_of(width_m, depth_m)
}

/// Everything of a hang in the wind but the hang.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
struct WindCase {
    tilt_deg: f64,
    top_m: f64,
    pick_x_m: Vec<f64>,
    wind: WindRow,
    wind_from: String,
    coefficient: Option<f64>,
    structural_factor: f64,
    shadows: Vec<([f64; 2], f64)>,
    closed: bool,
}

impl WindCase {
    fn hanging<'a>(&'a self, hang: &'a Hang) -> Hanging<'a> {
        let hanging = Hanging::at(&hang.0, self.tilt_deg);
        hanging.top(self.top_m).on(&self.pick_x_m)
    }
}

fn input_of(case: &WindCase) -> Result<WindInput> {
    let from = match case.wind_from.as_str() {
        "front" => From::Front,
        "rear" => From::Rear,
        "side" => From::Side,
        other => {
            return Err(InputError::new("wind_from", other, "front, rear or side"));
        }
    };
    Ok(WindInput {
        wind: wind_of(&case.wind)?,
        from,
        coefficient: case.coefficient,
        structural_factor: case.structural_factor,
        shadows: case
            .shadows
            .iter()
            .map(|&(at_m, area_m2)| Shadow { at_m, area_m2 })
            .collect(),
        closed: case.closed,
    })
}

#[derive(IntoPyObject)]
struct WindLoadsFields {
    ended: &'static str,
    residual: f64,
    pressure_pa: Array,
    force_n: Array,
    total_force_n: f64,
    line_deg: f64,
    tilt_deg: f64,
    lean_deg: f64,
    pan_moment_nm: f64,
    hoist_load_n: Array,
    slack: Array<bool>,
    splay_deg: Array,
    joint_moment_nm: Array,
    hold_tilt_n: f64,
    hold_plumb_n: f64,
}

#[pyfunction]
fn wind_loads(hang: &Hang, case: WindCase, pull_at_m: Option<[f64; 2]>) -> Result<WindLoadsFields> {
    let loads = loads_of(&case.hanging(hang), &input_of(&case)?, pull_at_m)?;
    Ok(WindLoadsFields {
        ended: loads.end.name(),
        residual: loads.residual,
        pressure_pa: loads.pressure_pa.into(),
        force_n: loads.force_n.into(),
        total_force_n: loads.total_n,
        line_deg: loads.line_rad.to_degrees(),
        tilt_deg: loads.tilt_rad.to_degrees(),
        lean_deg: loads.lean_rad.to_degrees(),
        pan_moment_nm: loads.pan_moment_nm,
        hoist_load_n: loads.hoist_n.into(),
        slack: loads.slack.into(),
        splay_deg: degrees(&loads.splay_rad),
        joint_moment_nm: loads.joint_moment_nm.into(),
        hold_tilt_n: loads.hold_tilt_n,
        hold_plumb_n: loads.hold_plumb_n,
    })
}

#[pyfunction]
fn oblique_forces(hang: &Hang, case: WindCase, from_deg: f64) -> Result<Array> {
    let forces = oblique::oblique_forces(&case.hanging(hang), &input_of(&case)?, from_deg)?;
    Ok(table(&forces, 2))
}

#[pyfunction]
fn gust_factor(gust_s: f64, period_s: f64) -> Result<f64> {
    oblique::gust_factor(gust_s, period_s)
}

#[derive(IntoPyObject)]
struct PartsInWindFields {
    ended: &'static str,
    residual: f64,
    total_force_n: f64,
    tilt_deg: f64,
    hoist_load_n: Array,
    still_chain_force_n: f64,
    chain_force_n: f64,
    chain_m: f64,
    opening_deg: Array,
    lifted: Array<bool>,
    contact_moment_nm: Array,
    stop_force_n: Array,
    hinge_force_n: Array,
    limits: Vec<LimitFields>,
}

#[pyfunction]
fn parts_in_wind(
    hang: &Hang,
    case: WindCase,
    preload_n: f64,
    stiffness_n_m: Option<f64>,
    lifting: LiftingRow,
) -> Result<PartsInWindFields> {
    let chain = TautChain {
        preload_n,
        stiffness_n_m,
    };
    let found = parts_of(
        &case.hanging(hang),
        &input_of(&case)?,
        &chain,
        &lifting_of(lifting),
    )?;
    let joints = found.joints;
    Ok(PartsInWindFields {
        ended: found.end.name(),
        residual: found.residual,
        total_force_n: found.total_n,
        tilt_deg: found.tilt_rad.to_degrees(),
        hoist_load_n: found.hoist_n.into(),
        still_chain_force_n: found.still_chain_n,
        chain_force_n: found.chain_n,
        chain_m: found.chain_m,
        opening_deg: degrees(&found.opening_rad),
        lifted: found.lifted.into(),
        contact_moment_nm: joints.contact_moment_nm.into(),
        stop_force_n: joints.stop_force_n.into(),
        hinge_force_n: points(&joints.hinge_force_n),
        limits: limit_rows(&found.limits),
    })
}

#[pyfunction]
fn wind_speeds_at_limits(
    py: Python<'_>,
    hang: &Hang,
    case: WindCase,
    line_deg: Option<f64>,
    turn_deg: Option<f64>,
    hoist_n: Option<f64>,
    total_n: Option<f64>,
) -> Result<Vec<(&'static str, Option<f64>)>> {
    let limits = WindLimits {
        line_deg,
        turn_deg,
        hoist_n,
        total_n,
    };
    let density = case.wind.1;
    let (input, hanging) = (input_of(&case)?, case.hanging(hang));
    let found = py.detach(|| speeds_at_limits(&hanging, &input, density, &limits))?;
    Ok(found
        .into_iter()
        .map(|limit| (limit.item, limit.speed_m_s))
        .collect())
}

#[derive(IntoPyObject)]
struct ComparisonFields {
    ended: &'static str,
    chi_square: f64,
    freedom: usize,
    chi_square_limit: f64,
    p_value: f64,
    tilt_deg: f64,
    residual: Array,
    verdict: Vec<&'static str>,
    other_hangs: Vec<(Vec<(usize, f64)>, f64)>,
    deviation_deg: Array,
    determined: Array<bool>,
    covariance_deg2: Array,
}

#[pyfunction]
fn compare_with_plan(
    py: Python<'_>,
    hang: &Hang,
    tilt_deg: f64,
    pick_x_m: Vec<f64>,
    readings: Vec<(String, usize, f64, f64)>,
    significance: f64,
    most_wrong_pins: usize,
) -> Result<ComparisonFields> {
    let readings: Vec<Reading> = readings
        .into_iter()
        .map(|(kind, number, value, uncertainty)| {
            let what = match kind.as_str() {
                "frame" => Quantity::FrameAngle,
                "cabinet" => Quantity::CabinetAngle(number),
                "hoist" => Quantity::HoistLoad(number),
                other => {
                    return Err(InputError::new(
                        "readings",
                        other,
                        "readings of frame, cabinet or hoist",
                    ));
                }
            };
            Ok(Reading {
                what,
                value,
                uncertainty,
            })
        })
        .collect::<Result<_>>()?;
    let planned = Hanging::at(&hang.0, tilt_deg).on(&pick_x_m);
    let found = py.detach(|| survey::survey(&planned, &readings, significance, most_wrong_pins))?;
    let verdict = found
        .verdict
        .iter()
        .map(|verdict| match verdict {
            Verdict::Consistent => "consistent",
            Verdict::Inconsistent => "inconsistent",
            Verdict::CannotTell => "cannot tell",
        })
        .collect();
    let other_hangs: Vec<_> = found
        .other_hangs
        .into_iter()
        .map(|other| (other.pins, other.chi_square))
        .collect();
    let unknowns = found.covariance_deg2.len();
    Ok(ComparisonFields {
        ended: found.end.name(),
        chi_square: found.chi_square,
        freedom: found.freedom,
        chi_square_limit: found.chi_square_limit,
        p_value: found.p_value,
        tilt_deg: found.tilt_deg,
        residual: found.residual.into(),
        verdict,
        other_hangs,
        deviation_deg: found.deviation_deg.into(),
        determined: found.determined.into(),
        covariance_deg2: table(&found.covariance_deg2, unknowns),
    })
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(wind_pressure, module)?)?;
    module.add_function(wrap_pyfunction!(section_coefficient, module)?)?;
    module.add_function(wrap_pyfunction!(wind_loads, module)?)?;
    module.add_function(wrap_pyfunction!(parts_in_wind, module)?)?;
    module.add_function(wrap_pyfunction!(oblique_forces, module)?)?;
    module.add_function(wrap_pyfunction!(gust_factor, module)?)?;
    module.add_function(wrap_pyfunction!(wind_speeds_at_limits, module)?)?;
    module.add_function(wrap_pyfunction!(compare_with_plan, module)?)
}
