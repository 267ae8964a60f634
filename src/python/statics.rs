//! Balance, joint forces and limits at the Python face.

use super::arrays::{Array, point, points, table};
use super::model::Hang;
use crate::error::Result;
use crate::pose::{Hanging, Vec2};
use crate::statics::limits::{self, LimitTable};
use crate::statics::part_loads::part_loads as part_loads_of;
use crate::statics::pull_back::{Pull, pull_back as pull_back_of};
use crate::statics::sides::{SidesInput, sides};
use crate::statics::{balance, joints};
use pyo3::prelude::*;

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

#[derive(IntoPyObject)]
struct HoistLoadsFields {
    load_n: Array,
    slack: Array<bool>,
    unbalanced_moment_nm: f64,
    tilt_range_deg: (f64, f64),
}

#[pyfunction]
fn hoist_loads(hang: &Hang, tilt_deg: f64, pick_x_m: Vec<f64>) -> Result<HoistLoadsFields> {
    let loads = balance::hoist_loads(&Hanging::at(&hang.0, tilt_deg).on(&pick_x_m))?;
    Ok(HoistLoadsFields {
        load_n: loads.load_n.into(),
        slack: loads.slack.into(),
        unbalanced_moment_nm: loads.unbalanced_moment_nm,
        tilt_range_deg: loads.tilt_range_deg.into(),
    })
}

#[pyfunction]
fn hanging_tilt(hang: &Hang, pick_x_m: f64) -> Result<f64> {
    balance::hanging_tilt(&hang.0, pick_x_m)
}

#[derive(IntoPyObject)]
struct PickForTiltFields {
    pick_x_m: f64,
    hole: usize,
    tilt_at_hole_deg: f64,
    tilt_range_deg: (f64, f64),
}

#[pyfunction]
fn pick_for_tilt(hang: &Hang, tilt_deg: f64) -> Result<PickForTiltFields> {
    let pick = balance::pick_for_tilt(&Hanging::at(&hang.0, tilt_deg))?;
    Ok(PickForTiltFields {
        pick_x_m: pick.pick_x_m,
        hole: pick.hole,
        tilt_at_hole_deg: pick.tilt_at_hole_deg,
        tilt_range_deg: pick.tilt_range_deg.into(),
    })
}

#[derive(IntoPyObject)]
struct JointLoadsFields {
    weight_n: Array,
    moment_nm: Array,
    rear_link_n: Array,
    hinge_force_n: Array,
}

#[pyfunction]
fn joint_loads(hang: &Hang, tilt_deg: f64) -> Result<JointLoadsFields> {
    let loads = joints::joint_loads(&Hanging::at(&hang.0, tilt_deg))?;
    Ok(JointLoadsFields {
        weight_n: loads.weight_n.into(),
        moment_nm: loads.moment_nm.into(),
        rear_link_n: loads.rear_link_n.into(),
        hinge_force_n: points(&loads.hinge_force_n),
    })
}

/// A row of a table of limits, its words left to the face.
#[derive(IntoPyObject)]
pub(super) struct LimitFields {
    part: &'static str,
    number: Option<usize>,
    unit: &'static str,
    demand: f64,
    limit: Option<f64>,
    utilisation: Option<f64>,
    state: &'static str,
    factor_use: &'static str,
    dynamic_factor: f64,
}

pub(super) fn limit_rows(table: &LimitTable) -> Vec<LimitFields> {
    let rows = table.rows.iter().map(|row| {
        let (part, number) = row.part.kind();
        LimitFields {
            part,
            number,
            unit: row.part.unit(),
            demand: row.demand,
            limit: row.limit,
            utilisation: row.utilisation(),
            state: row.case.kind(),
            factor_use: row.factor.kind(),
            dynamic_factor: row.factor.factor(),
        }
    });
    rows.collect()
}

#[pyfunction]
fn part_loads(
    py: Python<'_>,
    hang: &Hang,
    tilt_deg: f64,
    pick_x_m: Vec<f64>,
    lifting: LiftingRow,
    preload_n: f64,
    out_of_step_m: f64,
) -> Result<Vec<LimitFields>> {
    let lifting = lifting_of(lifting);
    let hanging = Hanging::at(&hang.0, tilt_deg).on(&pick_x_m);
    let table = py.detach(|| part_loads_of(&hanging, &lifting, preload_n, out_of_step_m));
    Ok(limit_rows(&table?))
}

#[derive(IntoPyObject)]
struct SidesFields {
    chain_force_n: Array,
    stop_n: Array,
    hinge_n: Array,
    shear_n: Array,
    roll_nm: Array,
    pan_nm: Array,
    lifted: Array<bool>,
    limits: Vec<LimitFields>,
}

#[pyfunction]
fn forces_per_side(hang: &Hang, tilt_deg: f64, input: SidesInput) -> Result<SidesFields> {
    let found = sides(&Hanging::at(&hang.0, tilt_deg), &input)?;
    let hinges: Vec<&Vec2> = found.hinge_n.iter().flatten().collect();
    let hinges = hinges.into_iter().flat_map(|force| [force.x, force.y]);
    Ok(SidesFields {
        chain_force_n: found.chain_force_n.as_slice().into(),
        stop_n: table(&found.stop_n, 2),
        hinge_n: Array::shaped(hinges.collect(), &[found.hinge_n.len(), 2, 2]),
        shear_n: found.shear_n.into(),
        roll_nm: found.roll_nm.into(),
        pan_nm: found.pan_nm.into(),
        lifted: found.lifted.into(),
        limits: limit_rows(&found.limits),
    })
}

#[derive(IntoPyObject)]
struct PullBackFields {
    ended: &'static str,
    force_n: f64,
    attach_m: Array,
    line_m: f64,
    free_tilt_deg: Option<f64>,
    hoist_load_n: Array,
    hoist_lean_deg: f64,
    rear_link_n: Array,
    rear_link_change_n: Array,
    hinge_force_n: Array,
    limits: Vec<LimitFields>,
}

#[pyfunction]
#[expect(
    clippy::too_many_arguments,
    reason = "the arguments of the Python function"
)]
fn pull_back(
    hang: &Hang,
    tilt_deg: f64,
    top_m: f64,
    pick_x_m: Vec<f64>,
    to_m: [f64; 2],
    attach_m: Option<[f64; 2]>,
    force_n: Option<f64>,
    limit_n: Option<f64>,
) -> Result<PullBackFields> {
    let pull = Pull {
        to_m,
        attach_m,
        force_n,
        limit_n,
    };
    let hanging = Hanging::at(&hang.0, tilt_deg).top(top_m).on(&pick_x_m);
    let found = pull_back_of(&hanging, &pull)?;
    Ok(PullBackFields {
        ended: found.end.name(),
        force_n: found.force_n,
        attach_m: point(found.attach_m),
        line_m: found.line_m,
        free_tilt_deg: found.free_tilt_deg,
        hoist_load_n: found.hoist_load_n.into(),
        hoist_lean_deg: found.hoist_lean_rad.to_degrees(),
        rear_link_n: found.rear_link_n.into(),
        rear_link_change_n: found.rear_link_change_n.into(),
        hinge_force_n: points(&found.hinge_force_n),
        limits: limit_rows(&found.limits),
    })
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
