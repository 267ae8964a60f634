//! Measured cabinets at the Python face.

use super::arrays::Array;
use crate::model;
use nalgebra::Complex;
use numpy::PyReadonlyArray3;
use pyo3::prelude::*;
use std::sync::Arc;

/// A measured cabinet held by the core.
#[pyclass(frozen, module = "hangarc._core")]
pub(super) struct Balloon(pub(super) Arc<model::Balloon>);

#[derive(IntoPyObject)]
struct LeftOutFields {
    along: &'static str,
    count: usize,
    level_rms_db: f64,
    level_most_db: f64,
    phase_rms_deg: f64,
    phase_most_deg: f64,
}

#[pymethods]
impl Balloon {
    #[new]
    fn new(
        py: Python<'_>,
        frequency_hz: Vec<f64>,
        azimuth_deg: Vec<f64>,
        elevation_deg: Vec<f64>,
        response: PyReadonlyArray3<'_, Complex<f64>>,
    ) -> PyResult<Self> {
        let response = response.as_slice()?.to_vec();
        let balloon =
            py.detach(|| model::Balloon::new(frequency_hz, azimuth_deg, elevation_deg, response));
        Ok(Self(Arc::new(balloon?)))
    }

    /// A measurement brought to 1 m: its response, and the delay taken out.
    #[staticmethod]
    fn at_one_metre(
        py: Python<'_>,
        distance_m: f64,
        delay_s: Option<f64>,
        frequency_hz: Vec<f64>,
        azimuth_deg: Vec<f64>,
        elevation_deg: Vec<f64>,
        pressure: PyReadonlyArray3<'_, Complex<f64>>,
    ) -> PyResult<(Array<Complex<f64>>, f64)> {
        let pressure = pressure.as_slice()?.to_vec();
        let brought = py.detach(|| {
            model::Balloon::measured_at(
                distance_m,
                delay_s,
                frequency_hz,
                azimuth_deg,
                elevation_deg,
                pressure,
            )
        });
        let (balloon, taken_s) = brought?;
        Ok((balloon.response().into(), taken_s))
    }

    /// The delay that all directions share.
    fn delay_s(&self) -> f64 {
        self.0.delay_s()
    }

    /// The response in some directions (rows) at some frequencies (columns).
    fn towards(
        &self,
        azimuth_deg: Vec<f64>,
        elevation_deg: Vec<f64>,
        frequency_hz: Vec<f64>,
    ) -> Array<Complex<f64>> {
        let shape = [azimuth_deg.len(), frequency_hz.len()];
        let directions = azimuth_deg.into_iter().zip(elevation_deg);
        let rows = directions.flat_map(|(azimuth, elevation)| {
            self.0.response_towards(azimuth, elevation, &frequency_hz)
        });
        Array::shaped(rows.collect(), &shape)
    }

    /// What every second value, left out, differs by along each axis.
    fn left_out(&self, py: Python<'_>) -> Vec<LeftOutFields> {
        let found = py.detach(|| self.0.left_out()).into_iter();
        found
            .map(|left_out| LeftOutFields {
                along: left_out.axis.name(),
                count: left_out.count,
                level_rms_db: left_out.level_db[0],
                level_most_db: left_out.level_db[1],
                phase_rms_deg: left_out.phase_deg[0],
                phase_most_deg: left_out.phase_deg[1],
            })
            .collect()
    }
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Balloon>()
}
