//! `InputError` as the Python class `hangarc.InputError`.

use crate::error::{InputError, Result};
use pyo3::prelude::*;
use pyo3::types::PyType;

/// The Python exception for `error`.
pub(super) fn to_python(py: Python<'_>, error: InputError) -> PyErr {
    let class = py
        .import("hangarc._errors")
        .and_then(|module| module.getattr("InputError"))
        .and_then(|class| Ok(class.cast_into::<PyType>()?));
    match class {
        Ok(class) => PyErr::from_type(class, (error.field, error.value, error.allowed)),
        Err(import_failure) => import_failure,
    }
}

/// `result` with its error as a Python exception.
pub(super) fn or_raise<T>(py: Python<'_>, result: Result<T>) -> PyResult<T> {
    result.map_err(|error| to_python(py, error))
}
