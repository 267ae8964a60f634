//! Rigid frames on hoists, and what starting, stopping and combining do, at the Python face.

use crate::pose::Placement;
use crate::python::arrays::{table, vectors};
use crate::python::error::or_raise;
use crate::python::model::Hang;
use crate::statics::suspension::hoisting::{self, Action, FactorSet, HoistingClass};
use crate::statics::suspension::pan::{self, Standing};
use crate::statics::suspension::rigid_hang as core;
use crate::statics::suspension::scatter::{ScatterInput, scatter};
use numpy::{PyArray1, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;

#[pyfunction]
fn rigid_hang<'py>(
    py: Python<'py>,
    points_m: Vec<[f64; 2]>,
    cg_m: [f64; 2],
    weight_n: f64,
    stiffness_n_m: Option<Vec<f64>>,
    high_m: Option<Vec<f64>>,
) -> PyResult<Bound<'py, PyDict>> {
    let held = core::rigid_hang(
        &points_m,
        cg_m,
        weight_n,
        stiffness_n_m.as_deref(),
        high_m.as_deref(),
    );
    hoist_fields(py, or_raise(py, held)?)
}

fn hoist_fields(py: Python<'_>, held: core::RigidHang) -> PyResult<Bound<'_, PyDict>> {
    let fields = PyDict::new(py);
    fields.set_item("load_n", PyArray1::from_vec(py, held.load_n))?;
    fields.set_item("slack", PyArray1::from_vec(py, held.slack))?;
    fields.set_item("residual", held.residual)?;
    Ok(fields)
}

#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the fields of one flat input")]
fn hang_on_hoists<'py>(
    py: Python<'py>,
    hang: &Hang,
    points_m: Vec<[f64; 3]>,
    tilt_deg: f64,
    top_m: f64,
    position_m: [f64; 2],
    pan_deg: f64,
    lateral_cg_m: f64,
    stiffness_n_m: Option<Vec<f64>>,
    high_m: Option<Vec<f64>>,
) -> PyResult<Bound<'py, PyDict>> {
    let standing = Standing {
        tilt_deg,
        top_m,
        placement: Placement {
            x_m: position_m[0],
            y_m: position_m[1],
            pan_rad: pan_deg.to_radians(),
        },
        lateral_cg_m,
    };
    let points = vectors(&points_m);
    let held = pan::hang_on_hoists(
        &hang.0,
        &standing,
        &points,
        stiffness_n_m.as_deref(),
        high_m.as_deref(),
    );
    let held = or_raise(py, held)?;
    let fields = hoist_fields(py, held.hoists)?;
    fields.set_item("cg_m", PyArray1::from_slice(py, held.cg_m.as_slice()))?;
    fields.set_item("weight_n", held.weight_n)?;
    fields.set_item("lean_deg", held.lean_rad.to_degrees())?;
    Ok(fields)
}

#[pyfunction]
fn pan_hold<'py>(
    py: Python<'py>,
    roof_spacing_m: f64,
    frame_spacing_m: f64,
    line_m: f64,
    weight_n: f64,
    pan_deg: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let held = pan::pan_hold(roof_spacing_m, frame_spacing_m, line_m, weight_n, pan_deg);
    let held = or_raise(py, held)?;
    let fields = PyDict::new(py);
    fields.set_item("torque_nm", held.torque_nm)?;
    fields.set_item("line_force_n", held.line_n)?;
    fields.set_item("horizontal_n", held.horizontal_n)?;
    fields.set_item("from_plumb_deg", held.from_plumb_rad.to_degrees())?;
    fields.set_item("lift_m", held.lift_m)?;
    Ok(fields)
}

#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the fields of one flat input")]
fn hoist_scatter<'py>(
    py: Python<'py>,
    points_m: Vec<[f64; 2]>,
    mass_kg: Vec<f64>,
    cg_m: Vec<[f64; 2]>,
    stiffness_n_m: Vec<f64>,
    high_m: Vec<f64>,
    mass_spread: f64,
    cg_spread_m: f64,
    high_spread_m: f64,
    stiffness_spread: f64,
    factor: f64,
    gravity_m_s2: f64,
    cases: usize,
    seed: u64,
    quantiles: Vec<f64>,
    progress: Option<Py<PyAny>>,
) -> PyResult<Bound<'py, PyDict>> {
    let hoists = points_m.len();
    let input = ScatterInput {
        points_m,
        mass_kg,
        cg_m,
        stiffness_n_m,
        high_m,
        mass_spread,
        cg_spread_m,
        high_spread_m,
        stiffness_spread,
        factor,
        gravity_m_s2,
        cases,
        seed,
    };
    let mut stopped_by = None;
    let found = py.detach(|| {
        scatter(&input, &quantiles, |done| {
            Python::attach(|py| {
                let told = py.check_signals().and_then(|()| match &progress {
                    Some(progress) => progress.call1(py, (done, cases)).map(drop),
                    None => Ok(()),
                });
                stopped_by = told.err();
                stopped_by.is_none()
            })
        })
    });
    if let Some(reason) = stopped_by {
        return Err(reason);
    }
    let fields = PyDict::new(py);
    if let Some(found) = or_raise(py, found)? {
        let loads = PyArray1::from_vec(py, found.load_n);
        fields.set_item("load_n", loads.reshape([cases, hoists])?)?;
        fields.set_item("tips", PyArray1::from_vec(py, found.tips))?;
        fields.set_item("least_n", PyArray1::from_vec(py, found.least_n))?;
        fields.set_item("mean_n", PyArray1::from_vec(py, found.mean_n))?;
        fields.set_item("greatest_n", PyArray1::from_vec(py, found.greatest_n))?;
        fields.set_item("quantile_n", table(py, &found.quantile_n, hoists)?)?;
        fields.set_item("slack_share", PyArray1::from_vec(py, found.slack_share))?;
    }
    Ok(fields)
}

#[pyfunction]
fn start_stop_factor(py: Python<'_>, hoisting_class: &str, speed_m_s: f64) -> PyResult<f64> {
    let factor = HoistingClass::named(hoisting_class)
        .and_then(|class| hoisting::start_stop_factor(class, speed_m_s));
    or_raise(py, factor)
}

#[pyfunction]
fn emergency_stop_force_n(
    py: Python<'_>,
    weight_n: f64,
    speed_m_s: f64,
    stiffness_n_m: f64,
    gravity_m_s2: f64,
) -> PyResult<f64> {
    or_raise(
        py,
        hoisting::emergency_stop_force_n(weight_n, speed_m_s, stiffness_n_m, gravity_m_s2),
    )
}

#[pyfunction]
fn combine_loads<'py>(
    py: Python<'py>,
    actions: Vec<(String, Vec<f64>)>,
    sets: Vec<(String, Vec<(String, f64)>)>,
) -> PyResult<Bound<'py, PyDict>> {
    let actions: Vec<Action> = actions
        .into_iter()
        .map(|(name, force_n)| Action { name, force_n })
        .collect();
    let sets: Vec<FactorSet> = sets
        .into_iter()
        .map(|(name, factors)| FactorSet { name, factors })
        .collect();
    let combined = or_raise(py, hoisting::combine(&actions, &sets))?;
    let fields = PyDict::new(py);
    let names: Vec<&str> = sets.iter().map(|set| set.name.as_str()).collect();
    let governing: Vec<&str> = combined.governing.iter().map(|&set| names[set]).collect();
    let points = combined.greatest_n.len();
    fields.set_item("force_n", table(py, &combined.force_n, points)?)?;
    fields.set_item("greatest_n", PyArray1::from_vec(py, combined.greatest_n))?;
    fields.set_item("sets", names)?;
    fields.set_item("governing", governing)?;
    Ok(fields)
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(rigid_hang, module)?)?;
    module.add_function(wrap_pyfunction!(hang_on_hoists, module)?)?;
    module.add_function(wrap_pyfunction!(pan_hold, module)?)?;
    module.add_function(wrap_pyfunction!(hoist_scatter, module)?)?;
    module.add_function(wrap_pyfunction!(start_stop_factor, module)?)?;
    module.add_function(wrap_pyfunction!(emergency_stop_force_n, module)?)?;
    module.add_function(wrap_pyfunction!(combine_loads, module)?)
}
