//! `InputError` as the Python class `hangarc.InputError`, its parts as data; panics as
//! `hangarc.CoreError`.

use crate::error::InputError;
use crate::threads;
use pyo3::PyTypeInfo;
use pyo3::panic::PanicException;
use pyo3::prelude::*;
use pyo3::types::PyType;

fn class<'py>(py: Python<'py>, name: &str) -> PyResult<Bound<'py, PyType>> {
    let errors = py.import("hangarc._errors")?;
    Ok(errors.getattr(name)?.cast_into::<PyType>()?)
}

impl From<InputError> for PyErr {
    fn from(error: InputError) -> Self {
        Python::attach(|py| match class(py, "InputError") {
            Ok(class) => PyErr::from_type(class, (error.field, error.value, error.allowed)),
            Err(import_failure) => import_failure,
        })
    }
}

/// A panic, here or on a thread of the pool: what tests see of a defect of the core.
#[pyfunction]
#[expect(clippy::panic, reason = "it is asked for")]
fn fault(py: Python<'_>, text: String, on_pool: bool) {
    let fail = || -> u8 { panic!("{text}") };
    py.detach(|| {
        if on_pool {
            threads::map(0..64, |_| fail())
        } else {
            vec![fail()]
        }
    });
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    let py = module.py();
    // pyo3 raises a panic as a class of its own that no `except Exception` catches.
    let bases = (class(py, "CoreError")?,);
    PanicException::type_object(py).setattr("__bases__", bases)?;
    module.add_function(wrap_pyfunction!(fault, module)?)
}
