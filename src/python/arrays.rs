//! Core vectors as NumPy arrays.
//!
//! Results cross as structs whose `IntoPyObject` is derived: a dictionary of the named fields, in
//! which an [`Array`] is a NumPy array and everything else a plain Python object.

use crate::pose::Vec2;
use nalgebra::Vector3;
use numpy::{Element, PyArray1, PyArrayDyn, PyArrayMethods};
use pyo3::prelude::*;

/// Numbers that become a NumPy array of the given shape, rows first.
pub(super) struct Array<T = f64> {
    values: Vec<T>,
    shape: Vec<usize>,
}

impl<T> Array<T> {
    /// As many values as the shape holds.
    pub fn shaped(values: Vec<T>, shape: &[usize]) -> Self {
        let shape = shape.to_vec();
        Self { values, shape }
    }
}

impl<T> From<Vec<T>> for Array<T> {
    fn from(values: Vec<T>) -> Self {
        let shape = vec![values.len()];
        Self { values, shape }
    }
}

impl<T: Clone> From<&[T]> for Array<T> {
    fn from(values: &[T]) -> Self {
        values.to_vec().into()
    }
}

impl<'py, T: Element> IntoPyObject<'py> for Array<T> {
    type Target = PyArrayDyn<T>;
    type Output = Bound<'py, Self::Target>;
    type Error = PyErr;

    fn into_pyobject(self, py: Python<'py>) -> PyResult<Self::Output> {
        PyArray1::from_vec(py, self.values).reshape(self.shape)
    }
}

/// Points as an (n, 2) array.
pub(super) fn points(points: &[Vec2]) -> Array {
    let values = points.iter().flat_map(|p| [p.x, p.y]).collect();
    Array::shaped(values, &[points.len(), 2])
}

/// One point as a (2,) array.
pub(super) fn point(point: Vec2) -> Array {
    vec![point.x, point.y].into()
}

/// Groups of four points as an (n, 4, 2) array.
pub(super) fn quads(quads: &[[Vec2; 4]]) -> Array {
    let values = quads.iter().flatten().flat_map(|p| [p.x, p.y]).collect();
    Array::shaped(values, &[quads.len(), 4, 2])
}

/// Radians as an (n,) array of degrees.
pub(super) fn degrees(angles_rad: &[f64]) -> Array {
    let degrees: Vec<f64> = angles_rad.iter().map(|angle| angle.to_degrees()).collect();
    degrees.into()
}

/// Rows of a rectangular table as an (n, columns) array.
pub(super) fn table<R: AsRef<[f64]>>(rows: &[R], columns: usize) -> Array {
    let values = rows.iter().flat_map(|row| row.as_ref()).copied().collect();
    Array::shaped(values, &[rows.len(), columns])
}

/// Points in space as an (n, 3) array.
pub(super) fn points_in_space(points: &[Vector3<f64>]) -> Array {
    let values = points.iter().flat_map(|p| [p.x, p.y, p.z]).collect();
    Array::shaped(values, &[points.len(), 3])
}

/// Points in space from an (n, 3) array.
pub(super) fn vectors(points: &[[f64; 3]]) -> Vec<Vector3<f64>> {
    points.iter().map(|&point| Vector3::from(point)).collect()
}
