//! One stretch of a beam without a support inside, and the loads on it.
//!
//! A segment has its own coordinate ξ from its origin: rightwards in a span or the right overhang,
//! leftwards in the left overhang. With moment M₀, shear dM/dξ = V₀, slope and deflection at the
//! origin,
//! M(ξ) = M₀ + V₀ ξ − ∫ q ⟨ξ − s⟩ ds and
//! w(ξ) = w₀ + w₀′ ξ + Σ ψ ⟨ξ − h⟩ − (M₀ ξ²/2 + V₀ ξ³/6 − ∫ q ⟨ξ − s⟩³/6 ds)/EI;
//! `beam_part` works them out from place to place.

use super::beam_part::{Change, SmoothPart, parts};

/// Places and weights of three Gauss–Legendre points on −1 … 1, exact to degree five.
const GAUSS: [(f64, f64); 3] = [
    (-0.774_596_669_241_483_4, 5.0 / 9.0),
    (0.0, 8.0 / 9.0),
    (0.774_596_669_241_483_4, 5.0 / 9.0),
];

/// A load on a beam, positive downward.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Load {
    /// At one place.
    Point {
        /// Place.
        x_m: f64,
        /// Force.
        force_n: f64,
    },
    /// Varying linearly between two places.
    Distributed {
        /// First place.
        from_m: f64,
        /// Last place.
        to_m: f64,
        /// Load per metre at the first place.
        start_n_m: f64,
        /// Load per metre at the last place.
        end_n_m: f64,
    },
}

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
}

impl Piece {
    fn add_changes(&self, changes: &mut Vec<Change>) {
        match *self {
            Self::Point { at, force } => changes.push(Change {
                at,
                force_n: force,
                ..Change::default()
            }),
            Self::Spread {
                from,
                to,
                start,
                slope,
            } => {
                changes.push(Change {
                    at: from,
                    load_n_m: start,
                    load_rate: slope,
                    spreads: 1,
                    ..Change::default()
                });
                changes.push(Change {
                    at: to,
                    load_n_m: -(start + slope * (to - from)),
                    load_rate: -slope,
                    spreads: -1,
                    ..Change::default()
                });
            }
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
    /// What [`Segment::draw_curve`] makes of all this.
    pub parts: Vec<SmoothPart>,
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
            parts: Vec::new(),
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

    /// Slope at the far end.
    pub fn end_slope(&self) -> f64 {
        let at = self.length_m;
        let turned: f64 = self.hinges.iter().map(|(_, turn)| turn).sum();
        let bent = self.moment_nm * at + self.shear_n * at * at / 2.0
            - self.sum(at, |s| (at - s).powi(2) / 2.0);
        self.slope + turned - bent / self.ei_nm2
    }

    pub fn x_m(&self, at: f64) -> f64 {
        self.origin_m + self.direction * at
    }

    /// Works out the parts from the state at the origin.
    pub fn draw_curve(&mut self) {
        let mut changes = Vec::with_capacity(2 * self.pieces.len() + self.hinges.len());
        for piece in &self.pieces {
            piece.add_changes(&mut changes);
        }
        changes.extend(self.hinges.iter().map(|&(at, turn)| Change {
            at,
            turn,
            ..Change::default()
        }));
        let start = SmoothPart {
            from: 0.0,
            to: self.length_m,
            ei_nm2: self.ei_nm2,
            load_n_m: 0.0,
            load_rate: 0.0,
            shear_n: self.shear_n,
            moment_nm: self.moment_nm,
            slope: self.slope,
            deflection_m: self.deflection_m,
        };
        self.parts = parts(start, changes);
    }

    /// The part that begins at or before `at`, or strictly before it.
    pub fn part(&self, at: f64, strictly: bool) -> &SmoothPart {
        let begun = self
            .parts
            .partition_point(|part| part.from < at || (!strictly && part.from == at));
        &self.parts[begun.max(1) - 1]
    }
}
