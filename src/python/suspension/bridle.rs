//! Bridles and heavy chain at the Python face.

use crate::error::Result;
use crate::python::arrays::{Array, degrees, points_in_space, table, vectors};
use crate::statics::suspension::bridle::{self as core, Bridle};
use crate::statics::suspension::bridle_steel::{LegStock, nearest_bridle};
use crate::statics::suspension::catenary::{Catenary, catenary_of_length, catenary_of_pull};
use pyo3::prelude::*;

#[derive(IntoPyObject)]
struct BridleFields {
    force_n: Array,
    slack: Array<bool>,
    apex_m: Array,
    length_m: Array,
    horizontal_n: Array,
    anchor_force_n: Array,
    from_plumb_deg: Array,
    included_angle_deg: Array,
}

impl From<Bridle> for BridleFields {
    fn from(bridle: Bridle) -> Self {
        Self {
            force_n: bridle.force_n.into(),
            slack: bridle.slack.into(),
            apex_m: bridle.apex_m.as_slice().into(),
            length_m: bridle.length_m.into(),
            horizontal_n: bridle.horizontal_n.into(),
            anchor_force_n: points_in_space(&bridle.anchor_force_n),
            from_plumb_deg: degrees(&bridle.from_plumb_rad),
            included_angle_deg: degrees(&bridle.included_angle_rad),
        }
    }
}

#[pyfunction]
fn bridle_at(anchors_m: Vec<[f64; 3]>, apex_m: [f64; 3], load_n: f64) -> Result<BridleFields> {
    let anchors = vectors(&anchors_m);
    Ok(core::bridle_at(&anchors, apex_m.into(), load_n)?.into())
}

#[pyfunction]
fn bridle_of(anchors_m: Vec<[f64; 3]>, lengths_m: Vec<f64>, load_n: f64) -> Result<BridleFields> {
    let anchors = vectors(&anchors_m);
    Ok(core::bridle_of(&anchors, &lengths_m, load_n)?.into())
}

#[pyfunction]
fn bridle_forces_along(
    anchors_m: Vec<[f64; 3]>,
    apexes_m: Vec<[f64; 3]>,
    load_n: f64,
) -> Result<Array> {
    let anchors = vectors(&anchors_m);
    let forces = core::forces_along(&anchors, &vectors(&apexes_m), load_n)?;
    Ok(table(&forces, anchors.len()))
}

#[derive(IntoPyObject)]
struct MadeBridleFields {
    bridle: BridleFields,
    steels_m: Vec<Vec<f64>>,
    links: Vec<usize>,
    miss_m: f64,
}

#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the fields of one flat input")]
fn nearest_bridle_of_stock(
    py: Python<'_>,
    anchors_m: Vec<[f64; 3]>,
    apex_m: [f64; 3],
    load_n: f64,
    steels_m: Vec<f64>,
    most_steels: usize,
    pitch_m: f64,
    most_links: usize,
    fittings_m: f64,
    within_m: f64,
) -> Result<MadeBridleFields> {
    let stock = LegStock {
        steels_m,
        most_steels,
        pitch_m,
        most_links,
        fittings_m,
    };
    let anchors = vectors(&anchors_m);
    let made = py.detach(|| nearest_bridle(&anchors, apex_m.into(), load_n, &stock, within_m))?;
    Ok(MadeBridleFields {
        steels_m: made.legs.iter().map(|leg| leg.steels_m.clone()).collect(),
        links: made.legs.iter().map(|leg| leg.links).collect(),
        miss_m: made.miss_m,
        bridle: made.bridle.into(),
    })
}

#[derive(IntoPyObject)]
struct HeavyLegFields {
    ended: &'static str,
    length_m: f64,
    horizontal_n: f64,
    vertical_n: Array,
    force_n: Array,
    sag_m: f64,
    residual: f64,
}

impl From<Catenary> for HeavyLegFields {
    fn from(line: Catenary) -> Self {
        Self {
            ended: line.end.name(),
            length_m: line.length_m,
            horizontal_n: line.horizontal_n,
            vertical_n: line.vertical_n.as_slice().into(),
            force_n: line.force_n.as_slice().into(),
            sag_m: line.sag_m,
            residual: line.residual,
        }
    }
}

#[pyfunction]
fn heavy_leg_of_length(
    span_m: f64,
    rise_m: f64,
    length_m: f64,
    weight_n_m: f64,
) -> Result<HeavyLegFields> {
    Ok(catenary_of_length(span_m, rise_m, length_m, weight_n_m)?.into())
}

#[pyfunction]
fn heavy_leg_of_pull(
    span_m: f64,
    rise_m: f64,
    horizontal_n: f64,
    weight_n_m: f64,
) -> Result<HeavyLegFields> {
    Ok(catenary_of_pull(span_m, rise_m, horizontal_n, weight_n_m)?.into())
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(bridle_at, module)?)?;
    module.add_function(wrap_pyfunction!(bridle_of, module)?)?;
    module.add_function(wrap_pyfunction!(bridle_forces_along, module)?)?;
    module.add_function(wrap_pyfunction!(nearest_bridle_of_stock, module)?)?;
    module.add_function(wrap_pyfunction!(heavy_leg_of_length, module)?)?;
    module.add_function(wrap_pyfunction!(heavy_leg_of_pull, module)?)
}
