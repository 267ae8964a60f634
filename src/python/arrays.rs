//! Core vectors as NumPy arrays.

use crate::pose::Vec2;
use nalgebra::Vector3;
use numpy::{PyArray1, PyArray2, PyArray3};
use pyo3::prelude::*;

/// Points as an (n, 2) array.
pub(super) fn points<'py>(py: Python<'py>, points: &[Vec2]) -> PyResult<Bound<'py, PyArray2<f64>>> {
    let rows: Vec<Vec<f64>> = points.iter().map(|p| vec![p.x, p.y]).collect();
    if rows.is_empty() {
        return Ok(PyArray2::zeros(py, [0, 2], false));
    }
    Ok(PyArray2::from_vec2(py, &rows)?)
}

/// One point as a (2,) array.
pub(super) fn point(py: Python<'_>, point: Vec2) -> Bound<'_, PyArray1<f64>> {
    PyArray1::from_slice(py, &[point.x, point.y])
}

/// Groups of four points as an (n, 4, 2) array.
pub(super) fn quads<'py>(
    py: Python<'py>,
    quads: &[[Vec2; 4]],
) -> PyResult<Bound<'py, PyArray3<f64>>> {
    let blocks: Vec<Vec<Vec<f64>>> = quads
        .iter()
        .map(|quad| quad.iter().map(|p| vec![p.x, p.y]).collect())
        .collect();
    Ok(PyArray3::from_vec3(py, &blocks)?)
}

/// Radians as a (n,) array of degrees.
pub(super) fn degrees<'py>(py: Python<'py>, angles_rad: &[f64]) -> Bound<'py, PyArray1<f64>> {
    PyArray1::from_iter(py, angles_rad.iter().map(|angle| angle.to_degrees()))
}

/// Rows of a rectangular table as an (n, columns) array.
pub(super) fn table<'py>(
    py: Python<'py>,
    rows: &[Vec<f64>],
    columns: usize,
) -> PyResult<Bound<'py, PyArray2<f64>>> {
    if rows.is_empty() {
        return Ok(PyArray2::zeros(py, [0, columns], false));
    }
    Ok(PyArray2::from_vec2(py, rows)?)
}

/// Points in space as an (n, 3) array.
pub(super) fn points_in_space<'py>(
    py: Python<'py>,
    points: &[Vector3<f64>],
) -> PyResult<Bound<'py, PyArray2<f64>>> {
    let rows: Vec<Vec<f64>> = points.iter().map(|p| p.as_slice().to_vec()).collect();
    table(py, &rows, 3)
}

/// Points in space from an (n, 3) array.
pub(super) fn vectors(points: &[[f64; 3]]) -> Vec<Vector3<f64>> {
    points.iter().map(|&point| Vector3::from(point)).collect()
}
