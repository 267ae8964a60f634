//! Bridles and heavy chain at the Python face.

use crate::python::arrays::{degrees, points_in_space, table, vectors};
use crate::python::error::or_raise;
use crate::statics::suspension::bridle::{self as core, Bridle};
use crate::statics::suspension::bridle_steel::{LegStock, nearest_bridle};
use crate::statics::suspension::catenary::{Catenary, catenary_of_length, catenary_of_pull};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;

fn fields<'py>(py: Python<'py>, bridle: &Bridle) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    let apex = PyArray1::from_slice(py, bridle.apex_m.as_slice());
    fields.set_item("force_n", PyArray1::from_slice(py, &bridle.force_n))?;
    fields.set_item("slack", PyArray1::from_slice(py, &bridle.slack))?;
    fields.set_item("apex_m", apex)?;
    fields.set_item("length_m", PyArray1::from_slice(py, &bridle.length_m))?;
    fields.set_item(
        "horizontal_n",
        PyArray1::from_slice(py, &bridle.horizontal_n),
    )?;
    fields.set_item(
        "anchor_force_n",
        points_in_space(py, &bridle.anchor_force_n)?,
    )?;
    fields.set_item("from_plumb_deg", degrees(py, &bridle.from_plumb_rad))?;
    fields.set_item(
        "included_angle_deg",
        degrees(py, &bridle.included_angle_rad),
    )?;
    Ok(fields)
}

#[pyfunction]
fn bridle_at<'py>(
    py: Python<'py>,
    anchors_m: Vec<[f64; 3]>,
    apex_m: [f64; 3],
    load_n: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let anchors = vectors(&anchors_m);
    fields(
        py,
        &or_raise(py, core::bridle_at(&anchors, apex_m.into(), load_n))?,
    )
}

#[pyfunction]
fn bridle_of<'py>(
    py: Python<'py>,
    anchors_m: Vec<[f64; 3]>,
    lengths_m: Vec<f64>,
    load_n: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let anchors = vectors(&anchors_m);
    fields(
        py,
        &or_raise(py, core::bridle_of(&anchors, &lengths_m, load_n))?,
    )
}

#[pyfunction]
fn bridle_forces_along<'py>(
    py: Python<'py>,
    anchors_m: Vec<[f64; 3]>,
    apexes_m: Vec<[f64; 3]>,
    load_n: f64,
) -> PyResult<Bound<'py, PyAny>> {
    let anchors = vectors(&anchors_m);
    let forces = core::forces_along(&anchors, &vectors(&apexes_m), load_n);
    Ok(table(py, &or_raise(py, forces)?, anchors.len())?.into_any())
}

#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the fields of one flat input")]
fn nearest_bridle_of_stock<'py>(
    py: Python<'py>,
    anchors_m: Vec<[f64; 3]>,
    apex_m: [f64; 3],
    load_n: f64,
    steels_m: Vec<f64>,
    most_steels: usize,
    pitch_m: f64,
    most_links: usize,
    fittings_m: f64,
    within_m: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let stock = LegStock {
        steels_m,
        most_steels,
        pitch_m,
        most_links,
        fittings_m,
    };
    let anchors = vectors(&anchors_m);
    let made = py.detach(|| nearest_bridle(&anchors, apex_m.into(), load_n, &stock, within_m));
    let made = or_raise(py, made)?;
    let result = PyDict::new(py);
    let steels: Vec<Vec<f64>> = made.legs.iter().map(|leg| leg.steels_m.clone()).collect();
    let links: Vec<usize> = made.legs.iter().map(|leg| leg.links).collect();
    result.set_item("bridle", fields(py, &made.bridle)?)?;
    result.set_item("steels_m", steels)?;
    result.set_item("links", links)?;
    result.set_item("miss_m", made.miss_m)?;
    Ok(result)
}

fn line_fields<'py>(py: Python<'py>, line: &Catenary) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    fields.set_item("length_m", line.length_m)?;
    fields.set_item("horizontal_n", line.horizontal_n)?;
    fields.set_item("vertical_n", PyArray1::from_slice(py, &line.vertical_n))?;
    fields.set_item("force_n", PyArray1::from_slice(py, &line.force_n))?;
    fields.set_item("sag_m", line.sag_m)?;
    fields.set_item("residual", line.residual)?;
    fields.set_item("converged", line.converged)?;
    Ok(fields)
}

#[pyfunction]
fn heavy_leg_of_length<'py>(
    py: Python<'py>,
    span_m: f64,
    rise_m: f64,
    length_m: f64,
    weight_n_m: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let line = catenary_of_length(span_m, rise_m, length_m, weight_n_m);
    line_fields(py, &or_raise(py, line)?)
}

#[pyfunction]
fn heavy_leg_of_pull<'py>(
    py: Python<'py>,
    span_m: f64,
    rise_m: f64,
    horizontal_n: f64,
    weight_n_m: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let line = catenary_of_pull(span_m, rise_m, horizontal_n, weight_n_m);
    line_fields(py, &or_raise(py, line)?)
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(bridle_at, module)?)?;
    module.add_function(wrap_pyfunction!(bridle_of, module)?)?;
    module.add_function(wrap_pyfunction!(bridle_forces_along, module)?)?;
    module.add_function(wrap_pyfunction!(nearest_bridle_of_stock, module)?)?;
    module.add_function(wrap_pyfunction!(heavy_leg_of_length, module)?)?;
    module.add_function(wrap_pyfunction!(heavy_leg_of_pull, module)?)
}
