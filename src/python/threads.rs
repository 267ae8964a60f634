//! The number of threads at the Python face.

use crate::error::{Result, within_range};
use crate::threads;
use pyo3::prelude::*;

#[pyfunction]
fn thread_count() -> usize {
    threads::count()
}

/// 0 leaves the number to the environment.
#[pyfunction]
fn set_thread_count(threads: usize) -> Result<()> {
    let most = threads::MOST as f64;
    within_range("threads", threads as f64, 0.0, most)?;
    threads::set_count(threads);
    Ok(())
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(thread_count, module)?)?;
    module.add_function(wrap_pyfunction!(set_thread_count, module)?)
}
