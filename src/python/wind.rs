//! Wind, and built against planned, at the Python face.

use super::arrays::{degrees, points, table};
use super::error::or_raise;
use super::model::Hang;
use super::statics::{LiftingRow, lifting_of, limit_rows};
use crate::error::InputError;
use crate::statics::survey::{self, Quantity, Reading, Verdict};
use crate::statics::wind::limits::{WindLimits, speeds_at_limits};
use crate::statics::wind::oblique;
use crate::statics::wind::parts::{TautChain, parts_in_wind as parts_of};
use crate::statics::wind::pressure::{Terrain, Wind, section_coefficient as coefficient_of};
use crate::statics::wind::swing::{From, Shadow, WindInput, wind_loads as loads_of};
use numpy::{PyArray1, PyArray2};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// Speed, density, and for a terrain profile its name, orography and turbulence factor.
type WindRow = (f64, f64, Option<(String, f64, f64)>);

fn wind_of((speed_m_s, density_kg_m3, profile): WindRow) -> Result<Wind, InputError> {
    Ok(match profile {
        None => Wind::Speed {
            speed_m_s,
            density_kg_m3,
        },
        Some((name, orography, turbulence_factor)) => Wind::Terrain {
            basic_speed_m_s: speed_m_s,
            terrain: Terrain::named(&name)?,
            orography,
            turbulence_factor,
            density_kg_m3,
        },
    })
}

#[pyfunction]
fn wind_pressure<'py>(
    py: Python<'py>,
    wind: WindRow,
    height_m: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let peak = or_raise(py, wind_of(wind).and_then(|wind| wind.at(height_m)))?;
    let fields = PyDict::new(py);
    fields.set_item("mean_speed_m_s", peak.mean_speed_m_s)?;
    fields.set_item("turbulence", peak.turbulence)?;
    fields.set_item("pressure_pa", peak.pressure_pa)?;
    Ok(fields)
}

#[pyfunction]
fn section_coefficient(py: Python<'_>, width_m: f64, depth_m: f64) -> PyResult<f64> {
    or_raise(py, coefficient_of(width_m, depth_m))
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

fn input_of(case: WindCase) -> Result<WindInput, InputError> {
    let from = match case.wind_from.as_str() {
        "front" => From::Front,
        "rear" => From::Rear,
        "side" => From::Side,
        other => {
            return Err(InputError::new("wind_from", other, "front, rear or side"));
        }
    };
    Ok(WindInput {
        tilt_deg: case.tilt_deg,
        top_m: case.top_m,
        pick_x_m: case.pick_x_m,
        wind: wind_of(case.wind)?,
        from,
        coefficient: case.coefficient,
        structural_factor: case.structural_factor,
        shadows: case
            .shadows
            .into_iter()
            .map(|(at_m, area_m2)| Shadow { at_m, area_m2 })
            .collect(),
        closed: case.closed,
    })
}

#[pyfunction]
fn wind_loads<'py>(
    py: Python<'py>,
    hang: &Hang,
    case: WindCase,
    pull_at_m: Option<[f64; 2]>,
) -> PyResult<Bound<'py, PyDict>> {
    let loads = input_of(case).and_then(|input| loads_of(&hang.0, &input, pull_at_m));
    let loads = or_raise(py, loads)?;
    let fields = PyDict::new(py);
    fields.set_item("ended", loads.end.name())?;
    fields.set_item("residual", loads.residual)?;
    fields.set_item("pressure_pa", PyArray1::from_vec(py, loads.pressure_pa))?;
    fields.set_item("force_n", PyArray1::from_vec(py, loads.force_n))?;
    fields.set_item("total_force_n", loads.total_n)?;
    fields.set_item("line_deg", loads.line_rad.to_degrees())?;
    fields.set_item("tilt_deg", loads.tilt_rad.to_degrees())?;
    fields.set_item("lean_deg", loads.lean_rad.to_degrees())?;
    fields.set_item("pan_moment_nm", loads.pan_moment_nm)?;
    fields.set_item("hoist_load_n", PyArray1::from_vec(py, loads.hoist_n))?;
    fields.set_item("slack", PyArray1::from_vec(py, loads.slack))?;
    fields.set_item("splay_deg", degrees(py, &loads.splay_rad))?;
    fields.set_item(
        "joint_moment_nm",
        PyArray1::from_vec(py, loads.joint_moment_nm),
    )?;
    fields.set_item("hold_tilt_n", loads.hold_tilt_n)?;
    fields.set_item("hold_plumb_n", loads.hold_plumb_n)?;
    Ok(fields)
}

#[pyfunction]
fn oblique_forces<'py>(
    py: Python<'py>,
    hang: &Hang,
    case: WindCase,
    from_deg: f64,
) -> PyResult<Bound<'py, PyArray2<f64>>> {
    let found = input_of(case).and_then(|input| oblique::oblique_forces(&hang.0, &input, from_deg));
    let rows: Vec<Vec<f64>> = or_raise(py, found)?
        .iter()
        .map(|row| row.to_vec())
        .collect();
    Ok(PyArray2::from_vec2(py, &rows)?)
}

#[pyfunction]
fn gust_factor(py: Python<'_>, gust_s: f64, period_s: f64) -> PyResult<f64> {
    or_raise(py, oblique::gust_factor(gust_s, period_s))
}

#[pyfunction]
fn parts_in_wind<'py>(
    py: Python<'py>,
    hang: &Hang,
    case: WindCase,
    preload_n: f64,
    stiffness_n_m: Option<f64>,
    lifting: LiftingRow,
) -> PyResult<Bound<'py, PyDict>> {
    let chain = TautChain {
        preload_n,
        stiffness_n_m,
    };
    let found =
        input_of(case).and_then(|input| parts_of(&hang.0, &input, &chain, &lifting_of(lifting)));
    let found = or_raise(py, found)?;
    let fields = PyDict::new(py);
    fields.set_item("ended", found.end.name())?;
    fields.set_item("residual", found.residual)?;
    fields.set_item("total_force_n", found.total_n)?;
    fields.set_item("tilt_deg", found.tilt_rad.to_degrees())?;
    fields.set_item("hoist_load_n", PyArray1::from_vec(py, found.hoist_n))?;
    fields.set_item("still_chain_force_n", found.still_chain_n)?;
    fields.set_item("chain_force_n", found.chain_n)?;
    fields.set_item("chain_m", found.chain_m)?;
    fields.set_item("opening_deg", degrees(py, &found.opening_rad))?;
    fields.set_item("lifted", PyArray1::from_vec(py, found.lifted))?;
    let joints = found.joints;
    let moments = PyArray1::from_vec(py, joints.contact_moment_nm);
    fields.set_item("contact_moment_nm", moments)?;
    fields.set_item("stop_force_n", PyArray1::from_vec(py, joints.stop_force_n))?;
    fields.set_item("hinge_force_n", points(py, &joints.hinge_force_n)?)?;
    fields.set_item("limits", limit_rows(py, &found.limits)?)?;
    Ok(fields)
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
) -> PyResult<Vec<(&'static str, Option<f64>)>> {
    let limits = WindLimits {
        line_deg,
        turn_deg,
        hoist_n,
        total_n,
    };
    let density = case.wind.1;
    let found = input_of(case)
        .and_then(|input| py.detach(|| speeds_at_limits(&hang.0, &input, density, &limits)));
    Ok(or_raise(py, found)?
        .into_iter()
        .map(|limit| (limit.item, limit.speed_m_s))
        .collect())
}

#[pyfunction]
fn compare_with_plan<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    pick_x_m: Vec<f64>,
    readings: Vec<(String, usize, f64, f64)>,
    significance: f64,
    most_wrong_pins: usize,
) -> PyResult<Bound<'py, PyDict>> {
    let readings: Result<Vec<Reading>, InputError> = readings
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
        .collect();
    let found = readings.and_then(|readings| {
        py.detach(|| {
            survey::survey(
                &hang.0,
                tilt_deg,
                &pick_x_m,
                &readings,
                significance,
                most_wrong_pins,
            )
        })
    });
    let found = or_raise(py, found)?;
    let verdict: Vec<&str> = found
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
    let fields = PyDict::new(py);
    fields.set_item("ended", found.end.name())?;
    fields.set_item("chi_square", found.chi_square)?;
    fields.set_item("freedom", found.freedom)?;
    fields.set_item("chi_square_limit", found.chi_square_limit)?;
    fields.set_item("p_value", found.p_value)?;
    fields.set_item("plan_accepted", found.plan_accepted)?;
    fields.set_item("tilt_deg", found.tilt_deg)?;
    fields.set_item("residual", PyArray1::from_vec(py, found.residual))?;
    fields.set_item("verdict", verdict)?;
    fields.set_item("other_hangs", other_hangs)?;
    fields.set_item("deviation_deg", PyArray1::from_vec(py, found.deviation_deg))?;
    fields.set_item("determined", PyArray1::from_vec(py, found.determined))?;
    fields.set_item(
        "covariance_deg2",
        table(py, &found.covariance_deg2, unknowns)?,
    )?;
    Ok(fields)
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
