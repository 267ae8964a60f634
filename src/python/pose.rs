//! `pose` at the Python face.

use super::arrays::{Array, degrees, point, points, quads};
use super::model::{Hang, Venue};
use crate::error::Result;
use crate::model::Blocking;
use crate::pose::{self as core, Hanging, Placement};
use numpy::PyReadonlyArray2;
use pyo3::prelude::*;

#[derive(IntoPyObject)]
struct PoseFields {
    axis_deg: Array,
    hinge_m: Array,
    front_m: Array,
    corners_m: Array,
    pick_m: Array,
    chain_m: Option<Array>,
    cg_m: Array,
    mass_kg: f64,
    trim_m: f64,
}

#[pyfunction]
fn pose(
    hang: &Hang,
    tilt_deg: f64,
    top_m: f64,
    splays_deg: Option<Vec<f64>>,
) -> Result<PoseFields> {
    let hanging = Hanging::at(&hang.0, tilt_deg).top(top_m);
    let pose = match splays_deg {
        Some(angles) => hanging.pose_at(&angles),
        None => hanging.pose(),
    }?;
    Ok(PoseFields {
        axis_deg: degrees(&pose.axis_rad),
        hinge_m: points(&pose.hinge_m),
        front_m: points(&pose.front_m),
        corners_m: quads(&pose.corners_m),
        pick_m: points(&pose.pick_m),
        chain_m: pose.chain_m.map(|ends| points(&ends)),
        cg_m: point(pose.cg_m),
        mass_kg: pose.mass_kg,
        trim_m: pose.trim_m,
    })
}

#[derive(IntoPyObject)]
struct ThrowFields {
    point_m: Array,
    place_m: Array,
    length_m: f64,
    area: Option<usize>,
    surface: Option<String>,
}

#[pyfunction]
fn throws(
    hang: &Hang,
    tilt_deg: f64,
    top_m: f64,
    venue: &Venue,
    position_m: (f64, f64),
    pan_deg: f64,
) -> Result<Vec<Option<ThrowFields>>> {
    let pose = Hanging::at(&hang.0, tilt_deg).top(top_m).pose()?;
    let placement = placed(position_m, pan_deg);
    let blocking = venue.0.blocking();
    let throws = core::throws(&pose, placement, &venue.0);
    Ok(throws
        .into_iter()
        .map(|throw| throw.map(|throw| throw_fields(&throw, placement, &blocking)))
        .collect())
}

/// A place on the floor plan and a pan as the face hands them over.
pub(super) fn placed((x_m, y_m): (f64, f64), pan_deg: f64) -> Placement {
    Placement {
        x_m,
        y_m,
        pan_rad: pan_deg.to_radians(),
    }
}

fn throw_fields(throw: &core::Throw, placement: Placement, blocking: &Blocking) -> ThrowFields {
    let (area, surface) = match throw.met {
        core::Met::Seats(area) => (Some(area), None),
        core::Met::Blocker(blocker) => (None, Some(blocking.blockers[blocker].name.clone())),
    };
    ThrowFields {
        point_m: point(placement.in_plane(throw.point_m)),
        place_m: throw.point_m.as_slice().into(),
        length_m: throw.length_m,
        area,
        surface,
    }
}

#[derive(IntoPyObject)]
struct SightLinesFields {
    surface: Array<i64>,
    share: Array,
    names: Vec<String>,
}

/// The first floor or surface in the way of each line, −1 for none, and the share of it before.
#[pyfunction]
fn lines_of_sight(
    venue: &Venue,
    from_m: PyReadonlyArray2<'_, f64>,
    to_m: PyReadonlyArray2<'_, f64>,
) -> PyResult<SightLinesFields> {
    let blocking = venue.0.blocking();
    let ends = from_m
        .as_slice()?
        .chunks_exact(3)
        .zip(to_m.as_slice()?.chunks_exact(3));
    let met = ends.map(|(from, to)| {
        blocking
            .first([from[0], from[1], from[2]], [to[0], to[1], to[2]])
            .map_or((-1, f64::INFINITY), |met| (met.blocker as i64, met.share))
    });
    let (surface, share): (Vec<i64>, Vec<f64>) = met.unzip();
    let names = blocking.blockers.iter().map(|blocker| blocker.name.clone());
    Ok(SightLinesFields {
        surface: surface.into(),
        share: share.into(),
        names: names.collect(),
    })
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(pose, module)?)?;
    module.add_function(wrap_pyfunction!(lines_of_sight, module)?)?;
    module.add_function(wrap_pyfunction!(throws, module)?)
}
