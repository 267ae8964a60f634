//! One stretch of a beam without a support inside, and the loads on it.
//!
//! A segment has its own coordinate ξ from its origin: rightwards in a span or the right overhang,
//! leftwards in the left overhang. With moment M₀, shear dM/dξ = V₀, slope and deflection at the
//! origin,
//! M(ξ) = M₀ + V₀ ξ − ∫ q ⟨ξ − s⟩ ds and
//! w(ξ) = w₀ + w₀′ ξ + Σ ψ ⟨ξ − h⟩ − (M₀ ξ²/2 + V₀ ξ³/6 − ∫ q ⟨ξ − s⟩³/6 ds)/EI.

use super::beam::{Beam, Load};

/// Places and weights of three Gauss–Legendre points on −1 … 1, exact to degree five.
const GAUSS: [(f64, f64); 3] = [
    (-0.774_596_669_241_483_4, 5.0 / 9.0),
    (0.0, 8.0 / 9.0),
    (0.774_596_669_241_483_4, 5.0 / 9.0),
];

/// A load on a segment in its coordinate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Piece {
    Point {
        at: f64,
        force: f64,
    },
    Spread {
        from: f64,
        to: f64,
        start: f64,
        slope: f64,
    },
}

impl Piece {
    pub(super) fn of(load: Load) -> Self {
        match load {
            Load::Point { x_m, force_n } => Self::Point {
                at: x_m,
                force: force_n,
            },
            Load::Distributed {
                from_m,
                to_m,
                start_n_m,
                end_n_m,
            } => Self::Spread {
                from: from_m,
                to: to_m,
                start: start_n_m,
                slope: (end_n_m - start_n_m) / (to_m - from_m),
            },
        }
    }

    pub(super) fn total_n(&self) -> f64 {
        self.sum(f64::INFINITY, |_| 1.0)
    }

    #[cfg(test)]
    pub(super) fn moment_nm(&self) -> f64 {
        self.sum(f64::INFINITY, |s| s)
    }

    /// ∫ q(s) kernel(s) ds over the part of the load before `end`, for kernels of degree four at
    /// most.
    fn sum(&self, end: f64, kernel: impl Fn(f64) -> f64) -> f64 {
        match *self {
            Self::Point { at, force } => {
                if at <= end {
                    force * kernel(at)
                } else {
                    0.0
                }
            }
            Self::Spread {
                from,
                to,
                start,
                slope,
            } => {
                let to = to.min(end);
                if to <= from {
                    return 0.0;
                }
                let half = (to - from) / 2.0;
                GAUSS
                    .iter()
                    .map(|&(place, weight)| {
                        let s = from + half * (1.0 + place);
                        weight * half * (start + slope * (s - from)) * kernel(s)
                    })
                    .sum()
            }
        }
    }

    /// The part of the load from `low` to `high`. A point load on `high` is left to the next part.
    fn between(&self, low: f64, high: f64) -> Option<Self> {
        match *self {
            Self::Point { at, .. } => (at >= low && at < high).then_some(*self),
            Self::Spread {
                from,
                to,
                start,
                slope,
            } => {
                let (cut_from, cut_to) = (from.max(low), to.min(high));
                (cut_to > cut_from).then_some(Self::Spread {
                    from: cut_from,
                    to: cut_to,
                    start: start + slope * (cut_from - from),
                    slope,
                })
            }
        }
    }

    fn seen_from(&self, origin: f64, direction: f64) -> Self {
        match *self {
            Self::Point { at, force } => Self::Point {
                at: (at - origin) * direction,
                force,
            },
            Self::Spread {
                from,
                to,
                start,
                slope,
            } if direction > 0.0 => Self::Spread {
                from: from - origin,
                to: to - origin,
                start,
                slope,
            },
            Self::Spread {
                from,
                to,
                start,
                slope,
            } => Self::Spread {
                from: origin - to,
                to: origin - from,
                start: start + slope * (to - from),
                slope: -slope,
            },
        }
    }

    fn edges(&self) -> [f64; 2] {
        match *self {
            Self::Point { at, .. } => [at, at],
            Self::Spread { from, to, .. } => [from, to],
        }
    }
}

/// A stretch of a beam from `origin_m` in one direction.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Segment {
    pub origin_m: f64,
    pub direction: f64,
    pub length_m: f64,
    pub ei_nm2: f64,
    pub pieces: Vec<Piece>,
    /// Place and rotation of each hinge.
    pub hinges: Vec<(f64, f64)>,
    pub moment_nm: f64,
    /// dM/dξ at the origin.
    pub shear_n: f64,
    pub slope: f64,
    pub deflection_m: f64,
}

impl Segment {
    /// The stretch from `origin_m` to `end_m` with its part of the beam's loads. What stands on
    /// its right end belongs to the next stretch.
    pub fn new(origin_m: f64, end_m: f64, ei_nm2: f64, pieces: &[Piece]) -> Self {
        let direction = if end_m < origin_m { -1.0 } else { 1.0 };
        let (low, high) = (origin_m.min(end_m), origin_m.max(end_m));
        Self {
            origin_m,
            direction,
            length_m: high - low,
            ei_nm2,
            pieces: pieces
                .iter()
                .filter_map(|piece| piece.between(low, high))
                .map(|piece| piece.seen_from(origin_m, direction))
                .collect(),
            hinges: Vec::new(),
            moment_nm: 0.0,
            shear_n: 0.0,
            slope: 0.0,
            deflection_m: 0.0,
        }
    }

    pub fn take_what_stands_on(&mut self, end_m: f64, pieces: &[Piece]) {
        self.pieces.extend(
            pieces
                .iter()
                .filter(|piece| matches!(piece, Piece::Point { at, .. } if *at == end_m))
                .map(|piece| piece.seen_from(self.origin_m, self.direction)),
        );
    }

    fn sum(&self, end: f64, kernel: impl Fn(f64) -> f64) -> f64 {
        self.pieces
            .iter()
            .map(|piece| piece.sum(end, &kernel))
            .sum()
    }

    pub fn load_n(&self) -> f64 {
        self.sum(f64::INFINITY, |_| 1.0)
    }

    /// Moment of the loads about the origin.
    pub fn load_moment_nm(&self) -> f64 {
        self.sum(f64::INFINITY, |s| s)
    }

    /// Reactions as a simple beam.
    pub fn simple_reactions(&self) -> (f64, f64) {
        let length = self.length_m;
        (
            self.sum(f64::INFINITY, |s| (length - s) / length),
            self.sum(f64::INFINITY, |s| s / length),
        )
    }

    /// EI times the slopes at both ends as a simple beam, each turning the end down into the span.
    pub fn simple_slopes(&self) -> (f64, f64) {
        let length = self.length_m;
        let at = |s: f64| s * (length - s) / (6.0 * length);
        (
            self.sum(f64::INFINITY, |s| at(s) * (2.0 * length - s)),
            self.sum(f64::INFINITY, |s| at(s) * (length + s)),
        )
    }

    /// Moment at ξ as a simple beam.
    pub fn simple_moment_nm(&self, at: f64) -> f64 {
        self.simple_reactions().0 * at - self.sum(at, |s| at - s)
    }

    /// Slope at the origin that brings the far end to `end_m`.
    pub fn start_slope(&self, end_moment_nm: f64, end_deflection_m: f64) -> f64 {
        let length = self.length_m;
        let bent = length * (2.0 * self.moment_nm + end_moment_nm) / 6.0 + self.simple_slopes().0;
        let turned: f64 = self
            .hinges
            .iter()
            .map(|&(at, turn)| turn * (length - at) / length)
            .sum();
        (end_deflection_m - self.deflection_m) / length + bent / self.ei_nm2 - turned
    }

    fn local_shear(&self, at: f64, count_load_here: bool) -> f64 {
        let loads: f64 = self
            .pieces
            .iter()
            .filter(|piece| match piece {
                Piece::Point { at: place, .. } => count_load_here || *place < at,
                Piece::Spread { .. } => true,
            })
            .map(|piece| piece.sum(at, |_| 1.0))
            .sum();
        self.shear_n - loads
    }

    fn local_moment(&self, at: f64) -> f64 {
        self.moment_nm + self.shear_n * at - self.sum(at, |s| at - s)
    }

    pub fn local_slope(&self, at: f64) -> f64 {
        let turned: f64 = self
            .hinges
            .iter()
            .filter(|(place, _)| *place <= at)
            .map(|(_, turn)| turn)
            .sum();
        let bent = self.moment_nm * at + self.shear_n * at * at / 2.0
            - self.sum(at, |s| (at - s).powi(2) / 2.0);
        self.slope + turned - bent / self.ei_nm2
    }

    fn local_deflection(&self, at: f64) -> f64 {
        let turned: f64 = self
            .hinges
            .iter()
            .filter(|(place, _)| *place <= at)
            .map(|(place, turn)| turn * (at - place))
            .sum();
        let bent = self.moment_nm * at * at / 2.0 + self.shear_n * at.powi(3) / 6.0
            - self.sum(at, |s| (at - s).powi(3) / 6.0);
        self.deflection_m + self.slope * at + turned - bent / self.ei_nm2
    }

    /// Places in ξ between which everything is smooth.
    fn breaks(&self) -> Vec<f64> {
        let mut places = vec![0.0, self.length_m];
        places.extend(self.pieces.iter().flat_map(Piece::edges));
        places.extend(self.hinges.iter().map(|(at, _)| *at));
        places.sort_by(f64::total_cmp);
        places.dedup();
        places
    }

    fn x_m(&self, at: f64) -> f64 {
        self.origin_m + self.direction * at
    }
}

/// The least and the greatest of a quantity, each with its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extremes {
    /// Least value.
    pub least: f64,
    /// Its place.
    pub least_x_m: f64,
    /// Greatest value.
    pub greatest: f64,
    /// Its place.
    pub greatest_x_m: f64,
}

impl Extremes {
    fn of(values: impl IntoIterator<Item = (f64, f64)>) -> Self {
        let mut found = Self {
            least: f64::INFINITY,
            least_x_m: 0.0,
            greatest: f64::NEG_INFINITY,
            greatest_x_m: 0.0,
        };
        for (x, value) in values {
            if value < found.least {
                (found.least, found.least_x_m) = (value, x);
            }
            if value > found.greatest {
                (found.greatest, found.greatest_x_m) = (value, x);
            }
        }
        found
    }
}

impl Beam {
    /// The segment that holds the beam just right of `x_m`, and the place in it.
    fn locate(&self, x_m: f64) -> (&Segment, f64) {
        let start = |segment: &Segment| segment.x_m(0.0).min(segment.x_m(segment.length_m));
        let index = self
            .segments
            .iter()
            .rposition(|segment| x_m >= start(segment))
            .unwrap_or(0);
        let segment = &self.segments[index];
        (segment, (x_m - segment.origin_m) * segment.direction)
    }

    /// Shear just right of `x_m`, at the right end just left of it: the upward forces to the left
    /// less the loads there.
    #[must_use]
    pub fn shear_n(&self, x_m: f64) -> f64 {
        let (segment, at) = self.locate(x_m);
        let count_load_here = segment.direction > 0.0 && x_m < self.length_m;
        segment.direction * segment.local_shear(at, count_load_here)
    }

    /// Bending moment, positive where the beam sags.
    #[must_use]
    pub fn moment_nm(&self, x_m: f64) -> f64 {
        let (segment, at) = self.locate(x_m);
        segment.local_moment(at)
    }

    /// Deflection, positive downward.
    #[must_use]
    pub fn deflection_m(&self, x_m: f64) -> f64 {
        let (segment, at) = self.locate(x_m);
        segment.local_deflection(at)
    }

    /// Least and greatest shear, on either side of every jump.
    #[must_use]
    pub fn shear_extremes(&self) -> Extremes {
        Extremes::of(self.smooth_parts().flat_map(|(segment, from, to)| {
            let turn = flat_load(segment, from, to);
            [from, turn, to].map(|at| {
                let shear = segment.local_shear(at, at < to);
                (segment.x_m(at), segment.direction * shear)
            })
        }))
    }

    /// Least and greatest moment, from the roots of the shear.
    #[must_use]
    pub fn moment_extremes(&self) -> Extremes {
        Extremes::of(self.smooth_parts().flat_map(|(segment, from, to)| {
            let shear = |at: f64| segment.local_shear(at, at < to);
            let turn = flat_load(segment, from, to);
            let roots = [root(shear, from, turn), root(shear, turn, to)];
            [Some(from), Some(to)]
                .into_iter()
                .chain(roots)
                .flatten()
                .map(|at| (segment.x_m(at), segment.local_moment(at)))
                .collect::<Vec<_>>()
        }))
    }

    /// Least and greatest deflection, from the roots of the slope.
    #[must_use]
    pub fn deflection_extremes(&self) -> Extremes {
        const PARTS: u32 = 16;
        Extremes::of(self.smooth_parts().flat_map(|(segment, from, to)| {
            let place = |part: u32| from + (to - from) * f64::from(part) / f64::from(PARTS);
            let slope = |at: f64| segment.local_slope(at);
            (0..PARTS)
                .flat_map(|part| {
                    let (low, high) = (place(part), place(part + 1));
                    [Some(low), root(slope, low, high), Some(high)]
                })
                .flatten()
                .map(|at| (segment.x_m(at), segment.local_deflection(at)))
                .collect::<Vec<_>>()
        }))
    }

    fn smooth_parts(&self) -> impl Iterator<Item = (&Segment, f64, f64)> {
        self.segments.iter().flat_map(|segment| {
            let breaks = segment.breaks();
            (1..breaks.len())
                .map(|end| (segment, breaks[end - 1], breaks[end]))
                .collect::<Vec<_>>()
        })
    }
}

/// Where the load per metre changes sign between `from` and `to`, or the middle: on either side
/// the shear is monotone.
fn flat_load(segment: &Segment, from: f64, to: f64) -> f64 {
    let middle = (from + to) / 2.0;
    let (mut here, mut slope) = (0.0, 0.0);
    for piece in &segment.pieces {
        if let Piece::Spread {
            from: low,
            to: high,
            start,
            slope: rate,
        } = *piece
            && low < middle
            && middle < high
        {
            here += start + rate * (middle - low);
            slope += rate;
        }
    }
    let place = middle - here / slope;
    if place > from && place < to {
        place
    } else {
        middle
    }
}

/// The root of a function between two places where its sign differs, by halving.
fn root(function: impl Fn(f64) -> f64, from: f64, to: f64) -> Option<f64> {
    let (mut low, mut high) = (from, to);
    let sign = function(low);
    if sign * function(high) >= 0.0 {
        return None;
    }
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if function(middle) * sign > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some((low + high) / 2.0)
}
