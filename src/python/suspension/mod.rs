//! What lies between the fly frame and the roof, at the Python face.

mod beam;
mod bridle;
mod hoists;
mod lines;

use pyo3::prelude::*;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    beam::register(module)?;
    bridle::register(module)?;
    hoists::register(module)?;
    lines::register(module)
}
