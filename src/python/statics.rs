//! Balance, joint forces and limits at the Python face.

use super::arrays::points;
use super::error::or_raise;
use super::model::Hang;
use crate::pose::Vec2;
use crate::statics::limits::{self, LimitTable};
use crate::statics::part_loads::part_loads as part_loads_of;
use crate::statics::pull_back::{Pull, pull_back as pull_back_of};
use crate::statics::sides::{SidesInput, sides};
use crate::statics::{balance, joints};
use numpy::{PyArray1, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

/// Limits of hoists and roof points, mass of a hoist, dynamic factor.
pub(super) type LiftingRow = (Option<f64>, Option<f64>, f64, f64);

pub(super) fn lifting_of(row: LiftingRow) -> limits::Lifting {
    let (hoist_limit_n, roof_point_limit_n, hoist_mass_kg, dynamic_factor) = row;
    limits::Lifting {
        hoist_limit_n,
        roof_point_limit_n,
        hoist_mass_kg,
        dynamic_factor,
    }
}

#[pyfunction]
fn hoist_loads<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    pick_x_m: Vec<f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let loads = or_raise(py, balance::hoist_loads(&hang.0, tilt_deg, &pick_x_m))?;
    let fields = PyDict::new(py);
    fields.set_item("load_n", PyArray1::from_vec(py, loads.load_n))?;
    fields.set_item("slack", PyArray1::from_vec(py, loads.slack))?;
    fields.set_item("unbalanced_moment_nm", loads.unbalanced_moment_nm)?;
    fields.set_item("tilt_range_deg", <(f64, f64)>::from(loads.tilt_range_deg))?;
    Ok(fields)
}

#[pyfunction]
fn hanging_tilt(py: Python<'_>, hang: &Hang, pick_x_m: f64) -> PyResult<f64> {
    or_raise(py, balance::hanging_tilt(&hang.0, pick_x_m))
}

#[pyfunction]
fn pick_for_tilt<'py>(py: Python<'py>, hang: &Hang, tilt_deg: f64) -> PyResult<Bound<'py, PyDict>> {
    let pick = or_raise(py, balance::pick_for_tilt(&hang.0, tilt_deg))?;
    let fields = PyDict::new(py);
    fields.set_item("pick_x_m", pick.pick_x_m)?;
    fields.set_item("hole", pick.hole)?;
    fields.set_item("tilt_at_hole_deg", pick.tilt_at_hole_deg)?;
    fields.set_item("tilt_range_deg", <(f64, f64)>::from(pick.tilt_range_deg))?;
    Ok(fields)
}

#[pyfunction]
fn joint_loads<'py>(py: Python<'py>, hang: &Hang, tilt_deg: f64) -> PyResult<Bound<'py, PyDict>> {
    let loads = or_raise(py, joints::joint_loads(&hang.0, tilt_deg))?;
    let fields = PyDict::new(py);
    fields.set_item("weight_n", PyArray1::from_vec(py, loads.weight_n))?;
    fields.set_item("moment_nm", PyArray1::from_vec(py, loads.moment_nm))?;
    fields.set_item("rear_link_n", PyArray1::from_vec(py, loads.rear_link_n))?;
    fields.set_item("hinge_force_n", points(py, &loads.hinge_force_n)?)?;
    Ok(fields)
}

/// Every row of a table of limits as a dictionary, its words left to the face.
pub(super) fn limit_rows<'py>(py: Python<'py>, table: &LimitTable) -> PyResult<Bound<'py, PyList>> {
    let rows = PyList::empty(py);
    for row in &table.rows {
        let (part, number) = row.part.kind();
        let fields = PyDict::new(py);
        fields.set_item("part", part)?;
        fields.set_item("number", number)?;
        fields.set_item("unit", row.part.unit())?;
        fields.set_item("demand", row.demand)?;
        fields.set_item("limit", row.limit)?;
        fields.set_item("utilisation", row.utilisation())?;
        fields.set_item("state", row.case.kind())?;
        fields.set_item("factor_use", row.factor.kind())?;
        fields.set_item("dynamic_factor", row.factor.factor())?;
        rows.append(fields)?;
    }
    Ok(rows)
}

#[pyfunction]
fn part_loads<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    pick_x_m: Vec<f64>,
    lifting: LiftingRow,
    preload_n: f64,
    out_of_step_m: f64,
) -> PyResult<Bound<'py, PyList>> {
    let lifting = lifting_of(lifting);
    let hang = &hang.0;
    let table = py.detach(|| {
        part_loads_of(
            hang,
            tilt_deg,
            &pick_x_m,
            &lifting,
            preload_n,
            out_of_step_m,
        )
    });
    limit_rows(py, &or_raise(py, table)?)
}

/// Everything of a hang whose sides are not alike but the hang.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
struct SidesCase {
    tilt_deg: f64,
    lean_deg: f64,
    cg_y_m: Vec<f64>,
    force_n: Vec<[f64; 2]>,
    hinge_spacing_m: f64,
    link_spacing_m: f64,
    chain_spacing_m: f64,
    chain_force_n: Option<f64>,
    left_share: f64,
    link_over_hinge: f64,
}

#[pyfunction]
fn forces_per_side<'py>(
    py: Python<'py>,
    hang: &Hang,
    case: SidesCase,
) -> PyResult<Bound<'py, PyDict>> {
    let input = SidesInput {
        tilt_deg: case.tilt_deg,
        lean_deg: case.lean_deg,
        cg_y_m: case.cg_y_m,
        force_n: case.force_n,
        hinge_spacing_m: case.hinge_spacing_m,
        link_spacing_m: case.link_spacing_m,
        chain_spacing_m: case.chain_spacing_m,
        chain_force_n: case.chain_force_n,
        left_share: case.left_share,
        link_over_hinge: case.link_over_hinge,
    };
    let found = or_raise(py, sides(&hang.0, &input))?;
    let fields = PyDict::new(py);
    fields.set_item(
        "chain_force_n",
        PyArray1::from_slice(py, &found.chain_force_n),
    )?;
    let stops: Vec<f64> = found.stop_n.iter().flatten().copied().collect();
    fields.set_item(
        "stop_n",
        PyArray1::from_vec(py, stops).reshape([found.stop_n.len(), 2])?,
    )?;
    let hinges: Vec<Vec2> = found.hinge_n.iter().flatten().copied().collect();
    let hinges = points(py, &hinges)?.reshape([found.hinge_n.len(), 2, 2])?;
    fields.set_item("hinge_n", hinges)?;
    fields.set_item("shear_n", PyArray1::from_vec(py, found.shear_n))?;
    fields.set_item("roll_nm", PyArray1::from_vec(py, found.roll_nm))?;
    fields.set_item("pan_nm", PyArray1::from_vec(py, found.pan_nm))?;
    fields.set_item("lifted", PyArray1::from_vec(py, found.lifted))?;
    fields.set_item("limits", limit_rows(py, &found.limits)?)?;
    Ok(fields)
}

#[pyfunction]
#[expect(
    clippy::too_many_arguments,
    reason = "the arguments of the Python function"
)]
fn pull_back<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    top_m: f64,
    pick_x_m: Vec<f64>,
    to_m: [f64; 2],
    attach_m: Option<[f64; 2]>,
    force_n: Option<f64>,
    limit_n: Option<f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let pull = Pull {
        to_m,
        attach_m,
        force_n,
        limit_n,
    };
    let found = pull_back_of(&hang.0, tilt_deg, top_m, &pick_x_m, &pull);
    let found = or_raise(py, found)?;
    let fields = PyDict::new(py);
    fields.set_item("ended", found.end.name())?;
    fields.set_item("force_n", found.force_n)?;
    fields.set_item(
        "attach_m",
        PyArray1::from_slice(py, found.attach_m.as_slice()),
    )?;
    fields.set_item("line_m", found.line_m)?;
    fields.set_item("free_tilt_deg", found.free_tilt_deg)?;
    fields.set_item("hoist_load_n", PyArray1::from_vec(py, found.hoist_load_n))?;
    fields.set_item("hoist_lean_deg", found.hoist_lean_rad.to_degrees())?;
    fields.set_item("rear_link_n", PyArray1::from_vec(py, found.rear_link_n))?;
    let change = PyArray1::from_vec(py, found.rear_link_change_n);
    fields.set_item("rear_link_change_n", change)?;
    fields.set_item("hinge_force_n", points(py, &found.hinge_force_n)?)?;
    fields.set_item("limits", limit_rows(py, &found.limits)?)?;
    Ok(fields)
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(hoist_loads, module)?)?;
    module.add_function(wrap_pyfunction!(hanging_tilt, module)?)?;
    module.add_function(wrap_pyfunction!(pick_for_tilt, module)?)?;
    module.add_function(wrap_pyfunction!(joint_loads, module)?)?;
    module.add_function(wrap_pyfunction!(forces_per_side, module)?)?;
    module.add_function(wrap_pyfunction!(part_loads, module)?)?;
    module.add_function(wrap_pyfunction!(pull_back, module)?)
}
