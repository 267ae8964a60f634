//! Seat counts at the Python face.

use super::model::Venue;
use crate::model::SeatArea;
use pyo3::prelude::*;

#[pyfunction]
fn seat_counts(venue: &Venue) -> Vec<usize> {
    venue.0.areas.iter().map(SeatArea::seat_count).collect()
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(seat_counts, module)?)
}
