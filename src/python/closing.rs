//! Closing and shortening at the Python face.

use super::arrays::{degrees, points};
use super::error::or_raise;
use super::model::Hang;
use super::statics::limit_rows;
use crate::error::InputError;
use crate::pose::TopJoint;
use crate::statics::buildup;
use crate::statics::closing::{
    self as core, Closing, ClosingOptions, ClosingPath, ClosingStage, ClosingStages, FrameHold,
    HingeFriction, JointForces, LinkChoice, Shortening,
};
use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

fn top_joint(py: Python<'_>, name: &str) -> PyResult<TopJoint> {
    or_raise(
        py,
        match name {
            "locked" => Ok(TopJoint::Locked),
            "stop" => Ok(TopJoint::Stop),
            _ => Err(InputError::new("top_joint", name, "\"locked\" or \"stop\"")),
        },
    )
}

fn frame_hold(py: Python<'_>, name: &str) -> PyResult<FrameHold> {
    or_raise(
        py,
        match name {
            "held" => Ok(FrameHold::Held),
            "one pick" => Ok(FrameHold::OnePick),
            "two hoists" => Ok(FrameHold::TwoHoists),
            _ => Err(InputError::new(
                "frame",
                name,
                "\"held\", \"one pick\" or \"two hoists\"",
            )),
        },
    )
}

fn rows<'py>(py: Python<'py>, rows: &[Vec<f64>]) -> PyResult<Bound<'py, PyArray2<f64>>> {
    Ok(PyArray2::from_vec2(py, rows)?)
}

fn path_fields<'py>(py: Python<'py>, path: &ClosingPath) -> PyResult<Bound<'py, PyDict>> {
    let (row_count, joints) = (path.angle_rad.len(), path.angle_rad[0].len());
    let table = |values: Vec<f64>| PyArray1::from_vec(py, values).reshape([row_count, joints]);
    let angle_deg = path.angle_rad.iter().flatten();
    let of_joints = |part: fn(&JointForces) -> &Vec<f64>| {
        table(path.joints.iter().flat_map(part).copied().collect())
    };
    let hinges: Vec<f64> = path
        .joints
        .iter()
        .flat_map(|row| &row.hinge_force_n)
        .flat_map(|force| [force.x, force.y])
        .collect();
    let hinges = PyArray1::from_vec(py, hinges).reshape([row_count, joints, 2])?;
    let fields = PyDict::new(py);
    fields.set_item("chain_m", PyArray1::from_slice(py, &path.chain_m))?;
    fields.set_item("force_n", PyArray1::from_slice(py, &path.force_n))?;
    fields.set_item("energy_j", PyArray1::from_slice(py, &path.energy_j))?;
    fields.set_item("tilt_deg", degrees(py, &path.tilt_rad))?;
    fields.set_item(
        "angle_deg",
        table(angle_deg.map(|angle| angle.to_degrees()).collect())?,
    )?;
    let contact = of_joints(|joints| &joints.contact_moment_nm)?;
    fields.set_item("contact_moment_nm", contact)?;
    fields.set_item("stop_force_n", of_joints(|joints| &joints.stop_force_n)?)?;
    fields.set_item("hinge_force_n", hinges)?;
    fields.set_item("hoist_load_n", rows(py, &path.hoist_load_n)?)?;
    Ok(fields)
}

fn joint_fields<'py>(
    py: Python<'py>,
    forces: Option<&JointForces>,
) -> PyResult<Option<Bound<'py, PyDict>>> {
    let Some(forces) = forces else {
        return Ok(None);
    };
    let fields = PyDict::new(py);
    let contact = PyArray1::from_slice(py, &forces.contact_moment_nm);
    fields.set_item("contact_moment_nm", contact)?;
    let stops = PyArray1::from_slice(py, &forces.stop_force_n);
    fields.set_item("stop_force_n", stops)?;
    fields.set_item("hinge_force_n", points(py, &forces.hinge_force_n)?)?;
    Ok(Some(fields))
}

fn closing_fields<'py>(py: Python<'py>, closing: &Closing) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    fields.set_item("ended", closing.end.name())?;
    fields.set_item("residual", closing.residual)?;
    fields.set_item("slack_hoist", closing.slack.name())?;
    fields.set_item("closed_state", closing.closed.name())?;
    fields.set_item("closing_force_n", closing.closing_force_n())?;
    let band = closing.friction_band;
    fields.set_item("holding_force_n", band.map(|band| band.holding_n))?;
    fields.set_item("pulling_force_n", band.and_then(|band| band.pulling_n))?;
    fields.set_item("pulling_joint", band.and_then(|band| band.joint))?;
    fields.set_item("most_force_n", closing.closed.most_n())?;
    fields.set_item("peak_force_n", closing.peak_force_n)?;
    let straight = PyArray1::from_slice(py, &closing.straight_line_force_n);
    fields.set_item("straight_line_force_n", straight)?;
    fields.set_item("governing_joint", closing.governing_joint())?;
    fields.set_item("order", &closing.order)?;
    fields.set_item("chain_free_m", closing.chain_free_m)?;
    fields.set_item("chain_straight_m", closing.chain_straight_m)?;
    fields.set_item("chain_closed_m", closing.chain_closed_m)?;
    fields.set_item("free_angle_deg", degrees(py, &closing.free_angle_rad))?;
    let at_closing = closing.at_closing.as_ref();
    let stops = at_closing.map(|forces| PyArray1::from_slice(py, &forces.stop_force_n));
    fields.set_item("stop_force_n", stops)?;
    fields.set_item(
        "top_link_n",
        at_closing.map(|forces| -forces.stop_force_n[0]),
    )?;
    fields.set_item("at_closing", joint_fields(py, at_closing)?)?;
    fields.set_item("at_preload", joint_fields(py, closing.at_preload.as_ref())?)?;
    let events = PyList::empty(py);
    for event in &closing.events {
        let row = PyDict::new(py);
        row.set_item("joint", event.joint)?;
        row.set_item("contact", event.contact.name())?;
        row.set_item("chain_m", event.chain_m)?;
        row.set_item("force_n", event.force_n)?;
        row.set_item("in_snap", event.in_snap)?;
        events.append(row)?;
    }
    fields.set_item("events", events)?;
    let snaps = PyList::empty(py);
    for snap in &closing.snaps {
        let row = PyDict::new(py);
        row.set_item("chain_m", snap.chain_m)?;
        row.set_item("force_before_n", snap.force_before_n)?;
        row.set_item("force_after_n", snap.force_after_n)?;
        row.set_item("greatest_turn_deg", snap.greatest_turn_rad.to_degrees())?;
        row.set_item("energy_j", snap.energy_j)?;
        snaps.append(row)?;
    }
    fields.set_item("snaps", snaps)?;
    fields.set_item("path", path_fields(py, &closing.path)?)?;
    fields.set_item("clutch", closing.clutch.name())?;
    fields.set_item("limits", limit_rows(py, &closing.limits)?)?;
    Ok(fields)
}

#[pyfunction]
#[expect(
    clippy::too_many_arguments,
    reason = "the arguments of the Python function"
)]
fn close<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    top_joint_name: &str,
    preload_n: f64,
    steps: usize,
    frame: &str,
    pick_x_m: Option<Vec<f64>>,
    dynamic_factor: f64,
    friction: f64,
    pin_radius_m: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let options = ClosingOptions {
        top_joint: top_joint(py, top_joint_name)?,
        preload_n,
        steps,
        frame: frame_hold(py, frame)?,
        pick_x_m,
        dynamic_factor,
        friction: HingeFriction {
            coefficient: friction,
            pin_radius_m,
        },
    };
    let hang = &hang.0;
    let closing = py.detach(|| core::close(hang, tilt_deg, &options));
    closing_fields(py, &or_raise(py, closing)?)
}

#[pyfunction]
fn rest_at_force<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    force_n: f64,
    top_joint_name: &str,
) -> PyResult<Bound<'py, PyDict>> {
    let top_joint = top_joint(py, top_joint_name)?;
    let rest = or_raise(
        py,
        core::rest_at_force(&hang.0, tilt_deg, force_n, top_joint),
    )?;
    let fields = PyDict::new(py);
    fields.set_item("ended", rest.end.name())?;
    fields.set_item("residual", rest.residual)?;
    fields.set_item("angle_deg", degrees(py, &rest.angle_rad))?;
    fields.set_item("chain_m", rest.chain_m)?;
    let contact = PyArray1::from_slice(py, &rest.joints.contact_moment_nm);
    fields.set_item("contact_moment_nm", contact)?;
    let stops = PyArray1::from_slice(py, &rest.joints.stop_force_n);
    fields.set_item("stop_force_n", stops)?;
    fields.set_item("hinge_force_n", points(py, &rest.joints.hinge_force_n)?)?;
    Ok(fields)
}

fn choice_fields<'py>(py: Python<'py>, choice: &LinkChoice) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    fields.set_item("link", choice.link)?;
    fields.set_item("hoist_open_m", choice.hoist_open_m)?;
    fields.set_item("hoist_closed_m", choice.hoist_closed_m)?;
    fields.set_item("spare_open_m", choice.spare_open_m)?;
    fields.set_item("spare_closed_m", choice.spare_closed_m)?;
    fields.set_item("slack_links", choice.slack_links)?;
    Ok(fields)
}

fn shortening_fields<'py>(py: Python<'py>, found: &Shortening) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    fields.set_item("ended", found.end.name())?;
    let links = found.feasible.iter().map(|choice| choice.link);
    fields.set_item("links_feasible", PyArray1::from_iter(py, links))?;
    let best = found.best;
    fields.set_item("link", best.map(|best| best.link))?;
    fields.set_item("hoist_open_m", best.map(|best| best.hoist_open_m))?;
    fields.set_item("hoist_closed_m", best.map(|best| best.hoist_closed_m))?;
    fields.set_item("spare_open_m", best.map(|best| best.spare_open_m))?;
    fields.set_item("spare_closed_m", best.map(|best| best.spare_closed_m))?;
    fields.set_item("slack_links", best.map(|best| best.slack_links))?;
    fields.set_item("chain_free_m", found.chain_free_m)?;
    fields.set_item("chain_closed_m", found.chain_closed_m)?;
    let neighbours = PyList::empty(py);
    for choice in &found.neighbours {
        neighbours.append(choice_fields(py, choice)?)?;
    }
    fields.set_item("neighbours", neighbours)?;
    Ok(fields)
}

#[pyfunction]
fn shortening<'py>(py: Python<'py>, hang: &Hang, tilt_deg: f64) -> PyResult<Bound<'py, PyDict>> {
    let found = or_raise(py, core::shortening(&hang.0, tilt_deg))?;
    shortening_fields(py, &found)
}

fn stage_fields<'py>(py: Python<'py>, stage: &ClosingStage) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    fields.set_item("cabinets", stage.cabinets)?;
    fields.set_item("joints", &stage.joints)?;
    fields.set_item("ended", stage.end.name())?;
    fields.set_item("open_angle_deg", degrees(py, &stage.open_angle_rad))?;
    fields.set_item("chain_open_m", stage.chain_open_m)?;
    fields.set_item("chain_closed_m", stage.chain_closed_m)?;
    let shortening = stage.shortening.as_ref();
    let shortening = shortening.map(|found| shortening_fields(py, found));
    fields.set_item("shortening", shortening.transpose()?)?;
    fields.set_item("closing_force_n", stage.closing_force_n)?;
    fields.set_item("governing_joint", stage.joint)?;
    fields.set_item("peak_force_n", stage.peak_force_n)?;
    fields.set_item("left_on_open_n", stage.left_on_open_n)?;
    fields.set_item("left_on_peak_n", stage.left_on_peak_n)?;
    fields.set_item("left_on_closed_n", stage.left_on_closed_n)?;
    fields.set_item("open_again", &stage.open_again)?;
    fields.set_item("alone_force_n", stage.alone_force_n)?;
    Ok(fields)
}

fn staged_fields<'py>(py: Python<'py>, found: &ClosingStages) -> PyResult<Bound<'py, PyDict>> {
    let stages = PyList::empty(py);
    for stage in &found.stages {
        stages.append(stage_fields(py, stage)?)?;
    }
    let fields = PyDict::new(py);
    fields.set_item("available_n", found.available_n)?;
    fields.set_item("closes", found.closes)?;
    fields.set_item("stages", stages)?;
    Ok(fields)
}

#[pyfunction]
fn closing_stages<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    available_n: Option<f64>,
    cabinets: Option<Vec<usize>>,
) -> PyResult<Bound<'py, PyDict>> {
    let hang = &hang.0;
    let found = py.detach(|| {
        let available_n = core::available_n(hang, available_n)?;
        core::closing_stages(hang, tilt_deg, available_n, cabinets.as_deref())
    });
    staged_fields(py, &or_raise(py, found)?)
}

#[pyfunction]
fn closing_sensitivities<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    pick_x_m: Option<Vec<f64>>,
) -> PyResult<Bound<'py, PyDict>> {
    let found = or_raise(
        py,
        core::sensitivities(&hang.0, tilt_deg, pick_x_m.as_deref()),
    )?;
    let inputs: Vec<&str> = found.iter().map(|row| row.input.as_str()).collect();
    let loads: Vec<Vec<f64>> = found.iter().map(|row| row.hoist_load_n.to_vec()).collect();
    let fields = PyDict::new(py);
    fields.set_item("inputs", inputs)?;
    let forces = PyArray1::from_iter(py, found.iter().map(|row| row.closing_force_n));
    fields.set_item("closing_force_n", forces)?;
    fields.set_item("hoist_load_n", rows(py, &loads)?)?;
    Ok(fields)
}

#[pyfunction]
fn closing_spread<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    pick_x_m: Option<Vec<f64>>,
    spreads: [f64; 5],
    cases: usize,
    seed: u64,
) -> PyResult<Bound<'py, PyDict>> {
    let [mass, cg_m, anchor_m, splay_deg, tilt_spread_deg] = spreads;
    let spread = core::Spread {
        mass,
        cg_m,
        anchor_m,
        splay_deg,
        tilt_deg: tilt_spread_deg,
    };
    let hang = &hang.0;
    let mut stopped = Ok(());
    let found = py.detach(|| {
        core::spread(
            hang,
            tilt_deg,
            pick_x_m.as_deref(),
            &spread,
            cases,
            seed,
            |_| {
                stopped = Python::attach(|py| py.check_signals());
                stopped.is_ok()
            },
        )
    });
    let found = or_raise(py, found)?;
    stopped?;
    let fields = PyDict::new(py);
    let Some(found) = found else {
        return Ok(fields);
    };
    let closes = found.closing_force_n.iter().map(Option::is_some);
    fields.set_item("closes", PyArray1::from_iter(py, closes))?;
    let forces = found
        .closing_force_n
        .iter()
        .map(|force| force.unwrap_or(f64::NAN));
    fields.set_item("closing_force_n", PyArray1::from_iter(py, forces))?;
    let loads: Vec<Vec<f64>> = found.hoist_load_n.iter().map(|row| row.to_vec()).collect();
    fields.set_item("hoist_load_n", rows(py, &loads)?)?;
    Ok(fields)
}

#[pyfunction]
fn bypass<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    take_up_m: f64,
    stiffness_n_m: Option<f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let found = or_raise(
        py,
        core::bypass(&hang.0, tilt_deg, take_up_m, stiffness_n_m),
    )?;
    let fields = PyDict::new(py);
    fields.set_item("ended", found.end.name())?;
    fields.set_item("link", found.link)?;
    fields.set_item("slack_m", found.slack_m)?;
    fields.set_item("force_n", found.force_n)?;
    fields.set_item("chain_m", found.chain_m)?;
    fields.set_item("angle_deg", degrees(py, &found.angle_rad))?;
    fields.set_item("opening_deg", degrees(py, &found.opening_rad))?;
    Ok(fields)
}

#[pyfunction]
fn closing_remedies<'py>(
    py: Python<'py>,
    hang: &Hang,
    tilt_deg: f64,
    available_n: Option<f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let hang = &hang.0;
    let found = py.detach(|| {
        let available_n = core::available_n(hang, available_n)?;
        core::remedies(hang, tilt_deg, available_n)
    });
    let found = or_raise(py, found)?;
    let fields = PyDict::new(py);
    fields.set_item("available_n", found.available_n)?;
    fields.set_item("closing_force_n", found.closing_force_n)?;
    fields.set_item("most_cabinets", found.most_cabinets)?;
    let tilt = found
        .tilt
        .map(|tilt| {
            let row = PyDict::new(py);
            row.set_item("tilt_deg", tilt.tilt_deg)?;
            row.set_item("closing_force_n", tilt.closing_force_n)?;
            row.set_item("front_pick_up_m", tilt.front_pick_up_m)?;
            Ok::<_, PyErr>(row)
        })
        .transpose()?;
    fields.set_item("tilt", tilt)?;
    let stages = PyList::empty(py);
    for stage in &found.stages {
        let row = PyDict::new(py);
        row.set_item("cabinets", stage.cabinets)?;
        row.set_item("closing_force_n", stage.closing_force_n)?;
        row.set_item("chain_closed_m", stage.chain_closed_m)?;
        stages.append(row)?;
    }
    fields.set_item("stages", stages)?;
    fields.set_item("staged", staged_fields(py, &found.staged)?)?;
    let landing = found
        .landing
        .map(|landing| {
            let row = PyDict::new(py);
            row.set_item("landed_n", landing.landed_n)?;
            row.set_item("landed_share", landing.landed_share)?;
            row.set_item("closing_force_n", landing.closing_force_n)?;
            Ok::<_, PyErr>(row)
        })
        .transpose()?;
    fields.set_item("landing", landing)?;
    Ok(fields)
}

#[pyfunction]
fn build_up<'py>(
    py: Python<'py>,
    hang: &Hang,
    stack: usize,
    cart_m: f64,
    pick_x_m: Vec<f64>,
    tilt_deg: Option<f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let how = buildup::BuildUp {
        stack,
        cart_m,
        pick_x_m,
        tilt_deg,
    };
    let found = or_raise(py, buildup::build_up(&hang.0, &how))?;
    let stages = PyList::empty(py);
    for stage in &found.stages {
        let row = PyDict::new(py);
        row.set_item("cabinets", stage.cabinets)?;
        row.set_item("ended", stage.end.name())?;
        row.set_item("closed", stage.closed)?;
        row.set_item("mass_kg", stage.mass_kg)?;
        row.set_item("tilt_deg", stage.tilt_rad.to_degrees())?;
        row.set_item(
            "hoist_load_n",
            PyArray1::from_slice(py, &stage.hoist_load_n),
        )?;
        row.set_item("angle_deg", degrees(py, &stage.angle_rad))?;
        row.set_item("lowest_m", stage.lowest_m)?;
        row.set_item("lift_m", stage.lift_m)?;
        stages.append(row)?;
    }
    let fields = PyDict::new(py);
    fields.set_item("stages", stages)?;
    fields.set_item("worst_load_n", found.worst_load_n)?;
    fields.set_item("worst_stage", found.worst_stage)?;
    Ok(fields)
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(close, module)?)?;
    module.add_function(wrap_pyfunction!(rest_at_force, module)?)?;
    module.add_function(wrap_pyfunction!(build_up, module)?)?;
    module.add_function(wrap_pyfunction!(bypass, module)?)?;
    module.add_function(wrap_pyfunction!(closing_remedies, module)?)?;
    module.add_function(wrap_pyfunction!(closing_sensitivities, module)?)?;
    module.add_function(wrap_pyfunction!(closing_spread, module)?)?;
    module.add_function(wrap_pyfunction!(closing_stages, module)?)?;
    module.add_function(wrap_pyfunction!(shortening, module)?)
}
