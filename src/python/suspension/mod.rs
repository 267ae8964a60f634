//! What lies between the fly frame and the roof, at the Python face.

mod bridle;

use pyo3::prelude::*;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    bridle::register(module)
}
