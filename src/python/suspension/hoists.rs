//! Rigid frames on hoists, and what starting, stopping and combining do, at the Python face.

use crate::error::Result;
use crate::pose::Hanging;
use crate::python::arrays::{Array, table, vectors};
use crate::python::model::Hang;
use crate::python::pose::placed;
use crate::statics::suspension::hoisting::{self, Action, FactorSet, HoistingClass};
use crate::statics::suspension::pan;
use crate::statics::suspension::rigid_hang as core;
use crate::statics::suspension::scatter::{ScatterInput, scatter};
use pyo3::prelude::*;

#[derive(IntoPyObject)]
struct RigidHangFields {
    load_n: Array,
    slack: Array<bool>,
    residual: f64,
}

#[pyfunction]
fn rigid_hang(
    points_m: Vec<[f64; 2]>,
    cg_m: [f64; 2],
    weight_n: f64,
    stiffness_n_m: Option<Vec<f64>>,
    high_m: Option<Vec<f64>>,
) -> Result<RigidHangFields> {
    let held = core::rigid_hang(
        &points_m,
        cg_m,
        weight_n,
        stiffness_n_m.as_deref(),
        high_m.as_deref(),
    )?;
    Ok(RigidHangFields {
        load_n: held.load_n.into(),
        slack: held.slack.into(),
        residual: held.residual,
    })
}

#[derive(IntoPyObject)]
struct HangOnHoistsFields {
    load_n: Array,
    slack: Array<bool>,
    residual: f64,
    cg_m: Array,
    weight_n: f64,
    lean_deg: f64,
}

#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the fields of one flat input")]
fn hang_on_hoists(
    hang: &Hang,
    points_m: Vec<[f64; 3]>,
    tilt_deg: f64,
    top_m: f64,
    position_m: (f64, f64),
    pan_deg: f64,
    lateral_cg_m: f64,
    stiffness_n_m: Option<Vec<f64>>,
    high_m: Option<Vec<f64>>,
) -> Result<HangOnHoistsFields> {
    let hanging = Hanging::at(&hang.0, tilt_deg)
        .top(top_m)
        .placed(placed(position_m, pan_deg));
    let points = vectors(&points_m);
    let held = pan::hang_on_hoists(
        &hanging,
        lateral_cg_m,
        &points,
        stiffness_n_m.as_deref(),
        high_m.as_deref(),
    )?;
    Ok(HangOnHoistsFields {
        load_n: held.hoists.load_n.into(),
        slack: held.hoists.slack.into(),
        residual: held.hoists.residual,
        cg_m: held.cg_m.as_slice().into(),
        weight_n: held.weight_n,
        lean_deg: held.lean_rad.to_degrees(),
    })
}

#[derive(IntoPyObject)]
struct PanHoldFields {
    torque_nm: f64,
    line_force_n: f64,
    horizontal_n: f64,
    from_plumb_deg: f64,
    lift_m: f64,
}

#[pyfunction]
fn pan_hold(
    roof_spacing_m: f64,
    frame_spacing_m: f64,
    line_m: f64,
    weight_n: f64,
    pan_deg: f64,
) -> Result<PanHoldFields> {
    let held = pan::pan_hold(roof_spacing_m, frame_spacing_m, line_m, weight_n, pan_deg)?;
    Ok(PanHoldFields {
        torque_nm: held.torque_nm,
        line_force_n: held.line_n,
        horizontal_n: held.horizontal_n,
        from_plumb_deg: held.from_plumb_rad.to_degrees(),
        lift_m: held.lift_m,
    })
}

#[derive(IntoPyObject)]
struct ScatterFields {
    load_n: Array,
    tips: Array<bool>,
    least_n: Array,
    mean_n: Array,
    greatest_n: Array,
    quantile_n: Array,
    slack_share: Array,
}

#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the fields of one flat input")]
fn hoist_scatter(
    py: Python<'_>,
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
) -> PyResult<Option<ScatterFields>> {
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
    Ok(found?.map(|found| ScatterFields {
        load_n: Array::shaped(found.load_n, &[cases, hoists]),
        tips: found.tips.into(),
        least_n: found.least_n.into(),
        mean_n: found.mean_n.into(),
        greatest_n: found.greatest_n.into(),
        quantile_n: table(&found.quantile_n, hoists),
        slack_share: found.slack_share.into(),
    }))
}

#[pyfunction]
fn start_stop_factor(hoisting_class: &str, speed_m_s: f64) -> Result<f64> {
    hoisting::start_stop_factor(HoistingClass::named(hoisting_class)?, speed_m_s)
}

#[pyfunction]
fn emergency_stop_force_n(
    weight_n: f64,
    speed_m_s: f64,
    stiffness_n_m: f64,
    gravity_m_s2: f64,
) -> Result<f64> {
    hoisting::emergency_stop_force_n(weight_n, speed_m_s, stiffness_n_m, gravity_m_s2)
}

#[derive(IntoPyObject)]
struct CombinedLoadsFields {
    force_n: Array,
    greatest_n: Array,
    sets: Vec<String>,
    governing: Vec<String>,
}

#[pyfunction]
fn combine_loads(
    actions: Vec<(String, Vec<f64>)>,
    sets: Vec<(String, Vec<(String, f64)>)>,
) -> Result<CombinedLoadsFields> {
    let actions: Vec<Action> = actions
        .into_iter()
        .map(|(name, force_n)| Action { name, force_n })
        .collect();
    let sets: Vec<FactorSet> = sets
        .into_iter()
        .map(|(name, factors)| FactorSet { name, factors })
        .collect();
    let combined = hoisting::combine(&actions, &sets)?;
    let names: Vec<String> = sets.into_iter().map(|set| set.name).collect();
    let governing = combined.governing.iter().map(|&set| names[set].clone());
    let points = combined.greatest_n.len();
    Ok(CombinedLoadsFields {
        force_n: table(&combined.force_n, points),
        greatest_n: combined.greatest_n.into(),
        governing: governing.collect(),
        sets: names,
    })
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
