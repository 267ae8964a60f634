//! For which receivers anything can be in the way, and what is in the way of some sources.

use super::detour::{Path, Room, aside, detour_past_m, over_m};
use super::fresnel::LIT_END;
use super::shade::{CLEAR, Shade, Shaded};
use crate::acoustics::Sources;
use crate::acoustics::field::TILE;
use crate::acoustics::lines::Lines;
use crate::acoustics::receivers::Receivers;
use crate::model::{Body, Edge, Place, between, dot, length, minus};
use crate::threads;

/// The box in which cabinets stand is looked at in parts no smaller than this, halved so often at the
/// most.
const FINEST_M: f64 = 0.2;
const MOST_HALVINGS: usize = 16;

/// Pieces of an edge looked at one by one, within this of the place beside a receiver.
const PIECES: usize = 12;
const NEAR_M: f64 = 100.0;

/// For each receiver, the bodies that can matter for it wherever in a box a cabinet stands.
#[derive(Clone, Debug)]
pub struct Reach {
    cabinets_m: Span,
    most_m: f64,
    near: Vec<Vec<Near>>,
}

/// A body that can matter for a receiver from cabinets in a part of the box, and those of its edges
/// whose detour from there can be short.
#[derive(Clone, Debug)]
struct Near {
    body: usize,
    cabinets_m: Span,
    edges: Vec<Edge>,
}

impl Reach {
    /// Looks from all of the box at all receivers, at the lowest frequency of some lines.
    #[must_use]
    pub fn of<'a>(
        room: &Room,
        [low_m, high_m]: [Place; 2],
        receivers: &Receivers,
        lines: impl IntoIterator<Item = &'a Lines>,
    ) -> Self {
        let most_m = lines.into_iter().map(most_detour_m).fold(0.0, f64::max);
        let cabinets_m = Span { low_m, high_m };
        let near_to = |point_m: Place| {
            let bodies = room.bodies().iter().enumerate();
            let near = bodies.filter_map(|(index, body)| {
                let pieces = body.edges.iter().flat_map(|edge| pieces(edge, point_m));
                let pieces: Vec<Edge> = pieces.collect();
                let mut look = Look {
                    body,
                    point_m,
                    most_m,
                    found_m: None,
                };
                look.at(
                    cabinets_m,
                    &pieces.iter().collect::<Vec<_>>(),
                    MOST_HALVINGS,
                );
                look.found_m.map(|cabinets_m| Near {
                    body: index,
                    cabinets_m,
                    edges: short_ways(body, cabinets_m, point_m, most_m),
                })
            });
            near.collect()
        };
        Self {
            cabinets_m,
            most_m,
            near: threads::map(receivers.points_m(), near_to),
        }
    }

    /// The same for some of the receivers, in this order.
    #[must_use]
    pub fn of_some(&self, receivers: &[usize]) -> Self {
        Self {
            near: receivers.iter().map(|&at| self.near[at].clone()).collect(),
            ..*self
        }
    }

    /// Whether anything can be in the way of a receiver.
    #[must_use]
    pub fn touches(&self, receiver: usize) -> bool {
        !self.near[receiver].is_empty()
    }

    /// Whether nothing is ever in the way.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.near.iter().all(Vec::is_empty)
    }

    /// What is in the way of sound from cabinets whose fronts are `fronts_m`; one without a front is
    /// not shaded. None where nothing ever is. `room` must be that of this reach.
    #[must_use]
    pub fn cast<'a>(&'a self, room: &'a Room, fronts_m: Vec<Option<Place>>) -> Option<Cast<'a>> {
        (!self.is_empty()).then_some(Cast {
            reach: self,
            room,
            fronts_m,
        })
    }

    /// As [`Room::detour_m`], for a cabinet in the box.
    fn detour_m(&self, room: &Room, near: &[Near], front_m: Place, to_m: Place) -> f64 {
        let path = Path::new(front_m, to_m);
        let mut longest_m = CLEAR;
        for Near { body, edges, .. } in near.iter().filter(|n| n.cabinets_m.holds(front_m)) {
            let body = &room.bodies()[*body];
            let mut round_m = detour_past_m(&body.facets, edges, &path, self.most_m);
            if round_m > self.most_m {
                // No short way round, so one of the long ones.
                round_m = detour_past_m(&body.facets, &body.edges, &path, self.most_m);
            }
            longest_m = longest_m.max(round_m);
        }
        longest_m
    }
}

/// What is in the way of some cabinets, looked at tile by tile of the receivers.
pub struct Cast<'a> {
    reach: &'a Reach,
    room: &'a Room,
    fronts_m: Vec<Option<Place>>,
}

impl Cast<'_> {
    /// The cabinets that are shaded at a tile of `receivers`, which must be those of the reach, are
    /// written to `shaded`, in rising order.
    pub fn of_tile(&self, receivers: &Receivers, tile: usize, shaded: &mut Vec<Shaded>) {
        let Self {
            reach,
            room,
            fronts_m,
        } = self;
        debug_assert_eq!(reach.near.len(), receivers.len());
        let first = tile * TILE;
        let near = &reach.near[first..reach.near.len().min(first + TILE)];
        let clear = near.iter().all(Vec::is_empty);
        shaded.clear();
        for (cabinet, front_m) in fronts_m.iter().enumerate() {
            let Some(front_m) = *front_m else { continue };
            let known = reach.cabinets_m.holds(front_m);
            if known && clear {
                continue;
            }
            shaded.extend(shaded_at(receivers, tile, cabinet, |lane, to_m| {
                if known {
                    reach.detour_m(room, &near[lane], front_m, to_m)
                } else {
                    room.detour_m(front_m, to_m, reach.most_m)
                }
            }));
        }
    }
}

impl Sources {
    /// Where each cabinet's front is; none of one without.
    #[must_use]
    pub fn fronts_m(&self) -> Vec<Option<Place>> {
        self.cabinets.iter().map(|own| own.front_m).collect()
    }

    /// The same, with what `room` takes from them on their way to `receivers`, looking at every path.
    /// Anything appended later takes it away again.
    #[must_use]
    pub fn shaded_in(mut self, room: &Room, receivers: &Receivers, lines: &Lines) -> Self {
        if room.bodies().is_empty() {
            return self;
        }
        let most_m = most_detour_m(lines);
        let fronts_m = self.fronts_m();
        let tiles = threads::map(0..receivers.len().div_ceil(TILE), |tile| {
            let fronts_m = fronts_m.iter().enumerate();
            let shaded = fronts_m.filter_map(|(cabinet, front_m)| {
                let front_m = (*front_m)?;
                shaded_at(receivers, tile, cabinet, |_, to_m| {
                    room.detour_m(front_m, to_m, most_m)
                })
            });
            shaded.collect::<Vec<_>>()
        });
        let mut shade = Shade::default();
        for shaded in tiles {
            shade.add_tile(shaded);
        }
        self.shade = Some(shade);
        self
    }
}

/// The detours to the receivers of a tile, if any path there is not clear.
fn shaded_at(
    receivers: &Receivers,
    tile: usize,
    cabinet: usize,
    detour_to_m: impl Fn(usize, Place) -> f64,
) -> Option<Shaded> {
    let mut detour_m = [CLEAR; TILE];
    let first = tile * TILE;
    let lanes = detour_m.iter_mut().take(receivers.len() - first);
    for (lane, detour_m) in lanes.enumerate() {
        *detour_m = detour_to_m(lane, receivers.point_m(first + lane));
    }
    (detour_m != [CLEAR; TILE]).then_some(Shaded { cabinet, detour_m })
}

/// The longest detour that matters in the light: ν = −[`LIT_END`] at the lowest frequency.
#[must_use]
pub(in crate::acoustics) fn most_detour_m(lines: &Lines) -> f64 {
    let lowest_hz = lines
        .frequency_hz()
        .iter()
        .copied()
        .fold(f64::INFINITY, f64::min);
    LIT_END * LIT_END / 4.0 * lines.sound_speed_m_s() / lowest_hz
}

/// A box along the axes.
#[derive(Clone, Copy, Debug)]
struct Span {
    low_m: Place,
    high_m: Place,
}

impl Span {
    fn holds(&self, point_m: Place) -> bool {
        (0..3).all(|axis| (self.low_m[axis]..=self.high_m[axis]).contains(&point_m[axis]))
    }

    /// The smallest box that holds this one and another.
    fn with(&self, other: &Self) -> Self {
        Self {
            low_m: [0, 1, 2].map(|axis| self.low_m[axis].min(other.low_m[axis])),
            high_m: [0, 1, 2].map(|axis| self.high_m[axis].max(other.high_m[axis])),
        }
    }

    fn middle_m(&self) -> Place {
        between(self.low_m, self.high_m, 0.5)
    }

    /// How far its corners lie from its middle.
    fn radius_m(&self) -> f64 {
        length(minus(self.high_m, self.low_m)) / 2.0
    }

    fn corners(&self) -> [Place; 8] {
        let ends = [self.low_m, self.high_m];
        std::array::from_fn(|corner| std::array::from_fn(|axis| ends[corner >> axis & 1][axis]))
    }

    /// Cut in two across its longest side.
    fn halves(&self) -> [Self; 2] {
        let size = minus(self.high_m, self.low_m);
        let longest = (0..3).max_by(|&a, &b| size[a].total_cmp(&size[b]));
        let longest = longest.unwrap_or(2);
        let mut halves = [*self; 2];
        halves[0].high_m[longest] = self.low_m[longest] + size[longest] / 2.0;
        halves[1].low_m[longest] = halves[0].high_m[longest];
        halves
    }
}

/// A look at the parts of the box from which a body can matter for a receiver.
struct Look<'a> {
    body: &'a Body,
    point_m: Place,
    most_m: f64,
    found_m: Option<Span>,
}

impl Look<'_> {
    /// Looks from a part of the box, where the edges can be near by those of their pieces alone that
    /// are given. The body cannot matter where nothing is in the way from the middle and over every
    /// edge the detour is always at least `most_m`, divided as it is where the body lies aside: a
    /// detour changes by at most twice as much as the cabinet moves, and a path that gets blocked
    /// passes an edge.
    fn at(&mut self, part: Span, pieces: &[&Edge], halvings: usize) {
        if self
            .found_m
            .is_some_and(|found| found.holds(part.low_m) && found.holds(part.high_m))
        {
            return;
        }
        let (middle_m, corners) = (part.middle_m(), part.corners());
        let path = Path::new(middle_m, self.point_m);
        let spare_m = 2.0 * part.radius_m();
        let is_near = |piece: &&&Edge| {
            let least_m = over_m(piece, &path).0 - spare_m;
            let share = || most_between(piece, &corners, self.point_m);
            least_m < 0.0 || (least_m < self.most_m && least_m < self.most_m * share().powi(2))
        };
        let near: Vec<&Edge> = pieces.iter().filter(is_near).copied().collect();
        let mut facets = self.body.facets.iter();
        if near.is_empty() && facets.all(|f| f.crossing(middle_m, self.point_m).is_none()) {
            return;
        }
        if near.is_empty() || part.radius_m() < FINEST_M || halvings == 0 {
            self.found_m = Some(self.found_m.map_or(part, |found| found.with(&part)));
            return;
        }
        for half in part.halves() {
            self.at(half, &near, halvings - 1);
        }
    }
}

/// The edges of a body whose detour from a place in the box can be less than `most_m`.
fn short_ways(body: &Body, cabinets_m: Span, point_m: Place, most_m: f64) -> Vec<Edge> {
    let middle = Path::new(cabinets_m.middle_m(), point_m);
    let is_far = |piece: Edge| {
        let least_m = over_m(&piece, &middle).0;
        least_m - 2.0 * cabinets_m.radius_m() >= most_m
    };
    let short = |edge: &&Edge| !pieces(edge, point_m).all(is_far);
    body.edges.iter().filter(short).cloned().collect()
}

/// An edge in pieces, short ones where it comes near a point.
fn pieces(edge: &Edge, near_m: Place) -> impl Iterator<Item = Edge> + '_ {
    let beside = edge.split_m(near_m)[0] / edge.length_m();
    let reach = NEAR_M / edge.length_m();
    let [low, high] = [beside - reach, beside + reach].map(|share| share.clamp(0.0, 1.0));
    let inner = move |mark: usize| low + (high - low) * mark as f64 / PIECES as f64;
    let marks = (0..=PIECES).map(inner);
    let shares: Vec<f64> = [0.0].into_iter().chain(marks).chain([1.0]).collect();
    (1..shares.len())
        .map(move |mark| [shares[mark - 1], shares[mark]])
        .filter(|[from, to]| to > from)
        .map(|shares| edge.stretch(shares))
}

/// The most that [`between_share`] can be for the receiver and a place in the box: no piece at an edge
/// lies less aside than from the farthest end of the edge.
///
/// [`between_share`]: super::detour::between_share
fn most_between(edge: &Edge, corners: &[Place; 8], point_m: Place) -> f64 {
    let farthest = |from: Place| {
        let ends = edge.ends_m.iter();
        ends.map(|&end| length(minus(from, end)))
            .fold(0.0, f64::max)
    };
    let mut share = 1.0;
    for &normal in &edge.normals {
        let sine = |from: Place| dot(normal, minus(from, edge.ends_m[0])) / farthest(from);
        let there = sine(point_m);
        let here = corners.iter().map(|&corner| sine(corner) * there.signum());
        let least = here.fold(there.abs(), f64::min);
        if least > 0.0 {
            share *= aside(least);
        }
    }
    share
}
