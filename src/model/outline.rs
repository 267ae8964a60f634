//! Can two cabinets be pinned so at all, or would one have to reach into the other?
//!
//! In side view a cabinet is a front face and a depth behind it. How its rear tapers is often not
//! stated, and where it is, the stated height serves the chain's path; so the most that any taper
//! could clear is taken: a wedge that ends in a line. Two convex outlines reach into each other by
//! their least overlap along the normals of their edges (separating axes, e.g. Ericson, *Real-Time
//! Collision Detection* (2005), ch. 5.2).

use super::Cabinet;
use nalgebra::{Rotation2, Vector2};

type Wedge = [Vector2<f64>; 3];

/// Outlines that reach into each other by less touch: dimensions are stated to the millimetre.
pub(super) const TOUCHING_M: f64 = 1e-3;

/// How far two neighbours reach into each other at a splay, whatever their rears taper to; below 0
/// where they clear.
pub(super) fn least_overlap_m(upper: &Cabinet, lower: &Cabinet, splay_deg: f64) -> f64 {
    let turn = Rotation2::new(-splay_deg.to_radians());
    let above = wedge(upper, -1.0);
    let below = wedge(lower, 1.0).map(|point| turn * point);
    normals(&above)
        .chain(normals(&below))
        .map(|normal| {
            let [low, high] = extent(&above, normal);
            let [least, most] = extent(&below, normal);
            (high - least).min(most - low)
        })
        .fold(f64::INFINITY, f64::min)
}

/// A cabinet about the hinge it shares, its upper one (1) or its lower one (−1).
fn wedge(cabinet: &Cabinet, hinge: f64) -> Wedge {
    let middle = Vector2::new(-cabinet.hinge_x_m, -hinge * cabinet.height_m / 2.0);
    let half = Vector2::new(0.0, cabinet.height_m / 2.0);
    let rear = Vector2::new(-cabinet.depth_m, 0.0);
    [middle + half, middle - half, middle + rear]
}

fn normals(outline: &Wedge) -> impl Iterator<Item = Vector2<f64>> {
    (0..outline.len()).map(|corner| {
        let edge = outline[(corner + 1) % outline.len()] - outline[corner];
        Vector2::new(-edge.y, edge.x).normalize()
    })
}

fn extent(outline: &Wedge, along: Vector2<f64>) -> [f64; 2] {
    let places = outline.map(|corner| corner.dot(&along));
    [
        places.iter().copied().fold(f64::INFINITY, f64::min),
        places.iter().copied().fold(f64::NEG_INFINITY, f64::max),
    ]
}
