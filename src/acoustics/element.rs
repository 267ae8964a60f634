//! Cabinets as sums of straight sub-elements.
//!
//! Line elements are cut into straight parts ([`cutting`](super::cutting)).
//!
//! Horizontal directivity from a coverage angle γ between the −6 dB directions:
//!
//! D_h = 1 / (1 + (tan(az/2) / tan(γ/4))²)
//!
//! with az the azimuth in the cabinet's own frame (common practice, no source): 1 ahead, 1/2 at
//! ±γ/2, falling steadily to 0 behind. Where γ changes with frequency, every line element is there
//! once for each band of its own.

use super::balloon::Measured;
use super::parts::Parts;
use super::rooms::Shade;
use crate::error::{InputError, Result};
use crate::model::{Balloon, Cabinet, Hang, LineElement, Source};
use crate::pose::{Placement, Pose, Vec2};
use nalgebra::Complex;
use std::f64::consts::PI;
use std::ops::Range;
use std::sync::Arc;

/// Sub-elements of any number of cabinets, quantity by quantity.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    pub(super) middle_m: [Vec<f64>; 3],
    /// Unit vector along the line.
    pub(super) upward: [Vec<f64>; 3],
    /// Unit vector of the cabinet's axis.
    pub(super) ahead: [Vec<f64>; 3],
    /// Unit vector to the cabinet's left, which is level.
    pub(super) leftward: [Vec<f64>; 2],
    pub(super) half_height_m: Vec<f64>,
    pub(super) weight: Vec<f64>,
    pub(super) delay_s: Vec<f64>,
    /// 1/tan²(γ/4); 0 radiates alike all round.
    pub(super) narrowness: Vec<f64>,
    band_hz: Vec<[f64; 2]>,
    /// Place of the source's row in `drives`.
    drive: Vec<Option<usize>>,
    drives: Vec<Vec<Complex<f64>>>,
    pub(super) measured: Vec<Measured>,
    /// In the order of their sub-elements.
    pub(super) cabinets: Vec<Own>,
    pub(super) shade: Option<Shade>,
}

/// What belongs to one cabinet.
#[derive(Clone, Debug)]
pub(super) struct Own {
    /// Middle of the front face; none for a mirror image, which nothing shades.
    pub front_m: Option<[f64; 3]>,
    pub elements: Range<usize>,
    pub measured: Range<usize>,
}

impl Sources {
    /// The sub-elements of a range of cabinets, top to bottom.
    ///
    /// # Errors
    /// One of these cabinets has no source.
    pub fn of_cabinets(
        hang: &Hang,
        pose: &Pose,
        placement: Placement,
        cabinets: Range<usize>,
        parts: Parts,
    ) -> Result<Self> {
        let mut sources = Self::default();
        for index in cabinets.clone() {
            let cabinet = &hang.cabinets[index];
            let source = require_source(cabinet, index)?;
            if index == cabinets.start {
                // Mostly all cabinets are alike.
                let of_one: usize = source.elements.iter().map(|e| parts.of(e)).sum();
                sources.reserve(of_one * cabinets.len());
            }
            if let Some(balloon) = &source.balloon {
                sources.append(Self::measured(pose, placement, index, balloon));
                continue;
            }
            let body = Body::of(pose, placement, index);
            let first = sources.len();
            for (band_hz, coverage_deg) in source.coverages() {
                for element in &source.elements {
                    sources.add(&body, band_hz, coverage_deg, element, parts.of(element));
                }
            }
            sources.cabinets.push(Own {
                front_m: Some(body.point(Vec2::zeros())),
                elements: first..sources.len(),
                measured: 0..0,
            });
        }
        Ok(sources)
    }

    /// The same sub-elements, louder by `gain_db`.
    #[must_use]
    pub fn with_gain_db(mut self, gain_db: f64) -> Self {
        let factor = 10f64.powf(gain_db / 20.0);
        self.weight.iter_mut().for_each(|weight| *weight *= factor);
        for measured in &mut self.measured {
            measured.weight *= factor;
        }
        self
    }

    /// The same sub-elements, later by `delay_s`.
    #[must_use]
    pub fn delayed(mut self, delay_s: f64) -> Self {
        self.delay_s.iter_mut().for_each(|delay| *delay += delay_s);
        for measured in &mut self.measured {
            measured.delay_s += delay_s;
        }
        self
    }

    /// Number of sub-elements.
    #[must_use]
    pub fn len(&self) -> usize {
        self.weight.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.weight.is_empty()
    }

    /// Adds the sub-elements of others.
    pub fn append(&mut self, other: Self) {
        let (elements, measured) = (self.len(), self.measured.len());
        self.shade = None;
        self.cabinets
            .extend(other.cabinets.into_iter().map(|own| Own {
                elements: own.elements.start + elements..own.elements.end + elements,
                measured: own.measured.start + measured..own.measured.end + measured,
                ..own
            }));
        let join = |mine: &mut [Vec<f64>], theirs: &[Vec<f64>]| {
            for (mine, theirs) in mine.iter_mut().zip(theirs) {
                mine.extend_from_slice(theirs);
            }
        };
        join(&mut self.middle_m, &other.middle_m);
        join(&mut self.upward, &other.upward);
        join(&mut self.ahead, &other.ahead);
        join(&mut self.leftward, &other.leftward);
        self.half_height_m.extend(other.half_height_m);
        self.weight.extend(other.weight);
        self.delay_s.extend(other.delay_s);
        self.narrowness.extend(other.narrowness);
        self.band_hz.extend(other.band_hz);
        let drives = self.drives.len();
        self.drive.extend(
            other
                .drive
                .into_iter()
                .map(|row| row.map(|row| row + drives)),
        );
        self.drives.extend(other.drives);
        self.measured.extend(other.measured);
    }

    /// Feeds all sources with a gain, a delay and a complex response over the lines.
    pub(super) fn feed(&mut self, gain: f64, delay_s: f64, drive: Option<&Vec<Complex<f64>>>) {
        self.weight.iter_mut().for_each(|weight| *weight *= gain);
        self.delay_s.iter_mut().for_each(|delay| *delay += delay_s);
        for measured in &mut self.measured {
            measured.weight *= gain;
            measured.delay_s += delay_s;
            measured.drive = drive.cloned().unwrap_or_default();
        }
        if let Some(drive) = drive {
            self.drives = vec![drive.clone()];
            self.drive.fill(Some(0));
        }
    }

    /// The mirror images in the floor z = 0, weighted by `reflection`.
    pub(super) fn mirrored(&self, reflection: f64) -> Self {
        let mut image = self.clone();
        image.shade = None;
        for own in &mut image.cabinets {
            own.front_m = None;
        }
        for vertical in [
            &mut image.middle_m[2],
            &mut image.upward[2],
            &mut image.ahead[2],
        ] {
            vertical.iter_mut().for_each(|z| *z = -*z);
        }
        image
            .weight
            .iter_mut()
            .for_each(|weight| *weight *= reflection);
        for measured in &mut image.measured {
            measured.weight *= reflection;
            measured.middle_m[2] = -measured.middle_m[2];
            for axis in &mut measured.axes {
                axis[2] = -axis[2];
            }
        }
        image
    }

    /// Height of the lowest end of a sub-element; infinite when there are none.
    pub(super) fn lowest_m(&self) -> f64 {
        let ends = (0..self.len()).map(|source| {
            self.middle_m[2][source] - self.half_height_m[source] * self.upward[2][source].abs()
        });
        let points = self.measured.iter().map(|measured| measured.middle_m[2]);
        ends.chain(points).fold(f64::INFINITY, f64::min)
    }

    /// One cabinet as measured.
    pub(super) fn measured(
        pose: &Pose,
        placement: Placement,
        cabinet: usize,
        balloon: &Arc<Balloon>,
    ) -> Self {
        let body = Body::of(pose, placement, cabinet);
        Self {
            measured: vec![Measured {
                balloon: Arc::clone(balloon),
                middle_m: body.point(Vec2::zeros()),
                axes: [body.ahead(), body.leftward(), body.upward(0.0)],
                weight: 1.0,
                delay_s: 0.0,
                drive: Vec::new(),
            }],
            cabinets: vec![Own {
                front_m: Some(body.point(Vec2::zeros())),
                elements: 0..0,
                measured: 0..1,
            }],
            ..Self::default()
        }
    }

    /// Complex weight of each source at each frequency, source by source, unless all are 1.
    pub(super) fn responses(&self, frequency_hz: &[f64]) -> Option<Vec<[f64; 2]>> {
        let all_pass = self
            .band_hz
            .iter()
            .all(|&[low, high]| frequency_hz.iter().all(|&f| f >= low && f < high));
        if all_pass && self.drives.is_empty() {
            return None;
        }
        let mut responses = Vec::with_capacity(self.len() * frequency_hz.len());
        for (&[low, high], row) in self.band_hz.iter().zip(&self.drive) {
            let row = row.map(|row| &self.drives[row]);
            responses.extend(frequency_hz.iter().enumerate().map(|(line, &f)| {
                if f < low || f >= high {
                    return [0.0, 0.0];
                }
                row.map_or([1.0, 0.0], |row| [row[line].re, row[line].im])
            }));
        }
        Some(responses)
    }

    /// Middle and radius of a ball that holds all sub-elements and some further points.
    pub(super) fn ball(&self, further_m: &[[f64; 3]]) -> ([f64; 3], f64) {
        let lines = (0..self.len()).map(|source| {
            let middle_m = self.middle_m.each_ref().map(|list| list[source]);
            (middle_m, self.half_height_m[source])
        });
        let measured = self.measured.iter().map(|measured| &measured.middle_m);
        let points = measured.chain(further_m).map(|&point_m| (point_m, 0.0));
        let parts = lines.chain(points);
        let (mut low_m, mut high_m) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
        for (middle_m, _) in parts.clone() {
            for axis in 0..3 {
                low_m[axis] = low_m[axis].min(middle_m[axis]);
                high_m[axis] = high_m[axis].max(middle_m[axis]);
            }
        }
        let centre_m = [0, 1, 2].map(|axis| (low_m[axis] + high_m[axis]) / 2.0);
        let radius_m = parts
            .map(|(middle_m, reach_m)| square_distance(middle_m, centre_m).sqrt() + reach_m)
            .fold(0.0, f64::max);
        (centre_m, radius_m)
    }

    fn reserve(&mut self, more: usize) {
        let vectors = [&mut self.middle_m, &mut self.upward, &mut self.ahead];
        let scalars = [
            &mut self.half_height_m,
            &mut self.weight,
            &mut self.delay_s,
            &mut self.narrowness,
        ];
        for list in vectors
            .into_iter()
            .flatten()
            .chain(&mut self.leftward)
            .chain(scalars)
        {
            list.reserve(more);
        }
        self.band_hz.reserve(more);
        self.drive.reserve(more);
    }

    fn add(
        &mut self,
        body: &Body,
        band_hz: [f64; 2],
        coverage_deg: Option<f64>,
        element: &LineElement,
        parts: usize,
    ) {
        let band_hz = [
            element.low_hz.map_or(band_hz[0], |low| low.max(band_hz[0])),
            element
                .high_hz
                .map_or(band_hz[1], |high| high.min(band_hz[1])),
        ];
        if band_hz[0] >= band_hz[1] {
            return;
        }
        let opening_rad = element.curvature_deg.to_radians();
        let gain = 10f64.powf(element.gain_db / 20.0) * if element.inverted { -1.0 } else { 1.0 };
        let narrowness =
            coverage_deg.map_or(0.0, |angle| (angle.to_radians() / 4.0).tan().powi(-2));
        let ahead = body.ahead();
        let leftward = body.leftward();
        for part in 0..parts {
            let place = (part as f64 + 0.5) / parts as f64 - 0.5;
            let turn_rad = opening_rad * place;
            let (offset, length_m) = if opening_rad > 0.0 {
                let radius_m = element.height_m / (2.0 * (opening_rad / 2.0).sin());
                let (sin, cos) = turn_rad.sin_cos();
                (
                    Vec2::new(radius_m * (cos - 1.0), radius_m * sin),
                    radius_m * opening_rad,
                )
            } else {
                (Vec2::new(0.0, element.height_m * place), element.height_m)
            };
            let middle = body.point(Vec2::new(element.x_m, element.z_m) + offset);
            let upward = body.upward(turn_rad);
            for axis in 0..3 {
                self.middle_m[axis].push(middle[axis]);
                self.upward[axis].push(upward[axis]);
                self.ahead[axis].push(ahead[axis]);
            }
            self.leftward[0].push(leftward[0]);
            self.leftward[1].push(leftward[1]);
            self.half_height_m.push(length_m / (2.0 * parts as f64));
            self.weight.push(gain / parts as f64);
            self.delay_s.push(element.delay_s);
            self.narrowness.push(narrowness);
            self.drive.push(None);
            self.band_hz.push(band_hz);
        }
    }

    /// The lesser of `so_far_m` and the point's distance from the nearest sub-element.
    pub(super) fn nearest_m(&self, point_m: [f64; 3], so_far_m: f64) -> f64 {
        let mut nearest_m = so_far_m;
        let [x, y, z] = &self.middle_m;
        for (source, &half) in self.half_height_m.iter().enumerate() {
            let from = [
                point_m[0] - x[source],
                point_m[1] - y[source],
                point_m[2] - z[source],
            ];
            let square = from[0] * from[0] + from[1] * from[1] + from[2] * from[2];
            // The line reaches no further than half its height from its middle.
            if square < (nearest_m + half).powi(2) {
                let upward = [0, 1, 2].map(|axis| self.upward[axis][source]);
                let along: f64 = from.iter().zip(upward).map(|(a, b)| a * b).sum();
                let beyond = (along.abs() - half).max(0.0);
                let aside = (square - along * along).max(0.0);
                nearest_m = nearest_m.min((aside + beyond * beyond).sqrt());
            }
        }
        nearest_m
    }
}

pub(super) fn square_distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum()
}

fn require_source(cabinet: &Cabinet, index: usize) -> Result<&Source> {
    cabinet.source.as_ref().ok_or_else(|| {
        InputError::new(
            &format!("cabinets[{index}].source"),
            "none",
            "a source; calculations of sound need it",
        )
    })
}

/// A cabinet in the room.
struct Body {
    front_m: Vec2,
    axis_rad: f64,
    /// Sine and cosine of `axis_rad`.
    axis: [f64; 2],
    place_m: [f64; 2],
    /// Sine and cosine of the pan.
    pan: [f64; 2],
}

impl Body {
    fn of(pose: &Pose, placement: Placement, cabinet: usize) -> Self {
        let axis_rad = pose.axis_rad[cabinet];
        Self {
            front_m: pose.front_m[cabinet],
            axis_rad,
            axis: axis_rad.sin_cos().into(),
            place_m: [placement.x_m, placement.y_m],
            pan: placement.pan_rad.sin_cos().into(),
        }
    }

    fn point(&self, local: Vec2) -> [f64; 3] {
        let [sin, cos] = self.axis;
        let turned = Vec2::new(cos * local.x - sin * local.y, sin * local.x + cos * local.y);
        let [x, y, z] = self.panned(self.front_m + turned);
        [self.place_m[0] + x, self.place_m[1] + y, z]
    }

    fn ahead(&self) -> [f64; 3] {
        let [sin, cos] = self.axis;
        self.panned(Vec2::new(cos, sin))
    }

    fn leftward(&self) -> [f64; 3] {
        let [sin, cos] = self.pan;
        [-sin, cos, 0.0]
    }

    /// The direction square to `angle_rad` above the axis, upward.
    fn upward(&self, angle_rad: f64) -> [f64; 3] {
        let (sin, cos) = (self.axis_rad + (angle_rad + PI / 2.0)).sin_cos();
        self.panned(Vec2::new(cos, sin))
    }

    fn panned(&self, direction: Vec2) -> [f64; 3] {
        let [sin, cos] = self.pan;
        [direction.x * cos, direction.x * sin, direction.y]
    }
}
