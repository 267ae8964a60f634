//! A candidate in its place.

use super::candidate::Candidate;
use crate::pose::Pose;

/// A candidate with its angles worked out and its bodies placed.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    pub candidate: Candidate,
    pub splays_deg: Vec<f64>,
    pub tilt_deg: f64,
    pub top_m: f64,
    pub pose: Pose,
}
