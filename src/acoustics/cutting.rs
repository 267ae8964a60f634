//! Into how many straight parts line elements are cut.
//!
//! A line element of height h is cut into N parts of equal length. A part's far field is exact in
//! angle, sin x / x; what it leaves out at distance d is, to leading order, the curvature of the
//! wave over the part: a share
//!
//! ε = h_s² (k + 2/d) / (24 d)
//!
//! of the part's pressure (mean square of z over the part is h_s²/12; the phase lag at z is
//! k z²/2d, the change of 1/d is z²/d²). A curved element is an arc whose chord is h; replacing
//! each part of it by its tangent leaves out the part's own bow, h_s θ_s / 8 at its middle, on
//! average two thirds of it. N is the smallest number for which neither exceeds the tolerance.

use super::element::{Sources, square_distance};
use super::lines::Lines;
use super::parts::Parts;
use super::receivers::Receivers;
use crate::error::{InputError, Result, accept};
use crate::model::{Hang, LineElement, Valid};
use crate::pose::{Placement, Pose};

/// Share of a part's pressure that its far field may leave out, unless stated otherwise.
pub const FAR_FIELD_TOLERANCE: f64 = 0.01;

/// A receiver nearer than this to a line element is refused.
pub const NEAREST_M: f64 = 0.05;

/// More parts of a hang are taken for a slip of the pen.
const MOST_PARTS: usize = 1_000_000;

/// The coarsest sub-division of a hang that is good for all `receivers` and `lines`.
///
/// # Errors
/// A cabinet has no source, or a receiver lies within [`NEAREST_M`] of an element; the error names
/// it as `receivers_m[i]`.
pub fn parts_within(
    tolerance: f64,
    hang: &Valid<Hang>,
    pose: &Pose,
    placement: Placement,
    receivers: &Receivers,
    lines: &Lines,
) -> Result<Parts> {
    Uncut::of(hang, pose, placement, |_| true)?.parts_within(tolerance, receivers, lines)
}

/// Cabinets whose line elements are not cut yet.
pub(super) struct Uncut<'a> {
    hang: &'a Hang,
    pub(super) sources: Sources,
    /// Fronts of the cabinets that have no line elements and count as points.
    fronts_m: Vec<[f64; 3]>,
}

impl<'a> Uncut<'a> {
    /// The line elements of the cabinets for which `with` holds.
    pub(super) fn of(
        hang: &'a Hang,
        pose: &Pose,
        placement: Placement,
        with: impl Fn(usize) -> bool,
    ) -> Result<Self> {
        let mut sources = Sources::default();
        let mut fronts_m = Vec::new();
        let cabinets = 0..hang.cabinets.len();
        let with = |cabinet: usize| {
            let source = hang.cabinets[cabinet].source.as_ref();
            with(cabinet) && source.is_none_or(|source| source.balloon.is_none())
        };
        if cabinets.clone().all(with) {
            sources = Sources::of_cabinets(hang, pose, placement, cabinets, Parts::Each(1))?;
        } else {
            for cabinet in cabinets {
                if with(cabinet) {
                    let one = cabinet..cabinet + 1;
                    let parts = Parts::Each(1);
                    sources.append(Sources::of_cabinets(hang, pose, placement, one, parts)?);
                } else {
                    fronts_m.push(placement.point(pose.front_m[cabinet]));
                }
            }
        }
        Ok(Self {
            hang,
            sources,
            fronts_m,
        })
    }

    /// Whether every cabinet is here as line elements.
    pub(super) fn is_all(&self) -> bool {
        self.fronts_m.is_empty()
    }

    /// The coarsest sub-division that is good for all receivers and lines.
    pub(super) fn parts_within(
        &self,
        tolerance: f64,
        receivers: &Receivers,
        lines: &Lines,
    ) -> Result<Parts> {
        let within = |nearest_m| Parts::Within {
            nearest_m,
            waves_per_m: lines.highest_hz() / lines.sound_speed_m_s(),
            tolerance,
        };
        let least_m = self.least_distance_m(receivers);
        if least_m > NEAREST_M && self.stays_whole(within(least_m)) {
            return Ok(within(least_m));
        }
        let parts = within(self.nearest_m(receivers)?);
        let of_each = self.elements().map(|element| parts.of(element));
        let of_all = of_each.fold(0usize, usize::saturating_add);
        accept(
            of_all <= MOST_PARTS,
            "far_field_tolerance",
            tolerance,
            format_args!("one that cuts the hang into at most {MOST_PARTS} parts, not {of_all}"),
        )?;
        Ok(parts)
    }

    /// Whether a point is too near an element or a front that counts as a point.
    pub(super) fn touches(&self, point_m: [f64; 3]) -> bool {
        let nearest_m = self.sources.nearest_m(point_m, f64::INFINITY);
        let fronts = self.fronts_m.iter();
        let front_m = fronts.map(|&front_m| square_distance(point_m, front_m).sqrt());
        front_m.fold(nearest_m, f64::min) < NEAREST_M
    }

    fn elements(&self) -> impl Iterator<Item = &LineElement> {
        let sources = self
            .hang
            .cabinets
            .iter()
            .filter_map(|cabinet| cabinet.source.as_ref());
        sources.flat_map(|source| &source.elements)
    }

    /// Whether `parts` leaves every line element in one piece.
    pub(super) fn stays_whole(&self, parts: Parts) -> bool {
        self.elements().all(|element| parts.of(element) == 1)
    }

    /// A distance that no receiver is nearer than, by a ball around the elements: far quicker than
    /// the nearest one itself.
    fn least_distance_m(&self, receivers: &Receivers) -> f64 {
        let (centre_m, radius_m) = self.sources.ball(&self.fronts_m);
        let nearest = receivers
            .points_m()
            .map(|point_m| square_distance(point_m, centre_m))
            .fold(f64::INFINITY, f64::min);
        nearest.sqrt() - radius_m
    }

    fn nearest_m(&self, receivers: &Receivers) -> Result<f64> {
        let mut nearest_m = f64::INFINITY;
        for (index, point_m) in receivers.points_m().enumerate() {
            nearest_m = self.sources.nearest_m(point_m, nearest_m);
            for &front_m in &self.fronts_m {
                nearest_m = nearest_m.min(square_distance(point_m, front_m).sqrt());
            }
            if nearest_m < NEAREST_M {
                return Err(InputError::new(
                    &format!("receivers_m[{index}]"),
                    format!("{point_m:?}"),
                    format!("a point at least {NEAREST_M} m from every line element"),
                ));
            }
        }
        Ok(nearest_m)
    }
}
