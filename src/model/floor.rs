//! The floor under a seat area as plane pieces, with its edges.
//!
//! A piece of the floor line is swept along the rows: straight across, or about the rows' centre in
//! sectors so narrow that the chord leaves its arc by no more than [`SAGITTA_M`]. An outline on the
//! plan cuts what is swept; a width ends it on both sides.

use super::edge::{Edge, edges_of};
use super::facet::{Facet, Place, cut_by, sides};
use super::rows::is_inside;
use super::{Point, SeatArea};
use std::f64::consts::PI;

/// How far the chord of a sector may leave its arc.
const SAGITTA_M: f64 = 0.02;

/// Plane pieces and edges of one floor.
#[derive(Debug, Default)]
pub(super) struct Floor {
    pub facets: Vec<Facet>,
    pub edges: Vec<Edge>,
}

/// A piece of the floor line swept over one sector, or straight across.
struct Cell {
    /// Its corners on the plan, counter-clockwise.
    plan_m: [Point; 4],
    centre_m: Point,
    /// Unit vector on the plan along which the floor rises.
    outward: Point,
    /// Distance along it and height, at the start and the end of the piece.
    start: Point,
    end: Point,
}

impl Cell {
    fn lifted(&self, [x, y]: Point) -> Place {
        let out =
            self.outward[0] * (x - self.centre_m[0]) + self.outward[1] * (y - self.centre_m[1]);
        let share = (out - self.start[0]) / (self.end[0] - self.start[0]);
        [x, y, self.start[1] + share * (self.end[1] - self.start[1])]
    }

    fn cuts(&self) -> impl Iterator<Item = [Point; 2]> + '_ {
        sides(&self.plan_m)
    }
}

impl Floor {
    pub(super) fn of(area: &SeatArea) -> Self {
        if area.outline_m.is_empty() {
            Self::of_width(area)
        } else {
            Self::within(area)
        }
    }

    /// The floor between the ends of its rows.
    fn of_width(area: &SeatArea) -> Self {
        let centre = area.row_centre_x_m;
        let half_turn = |corner: usize| {
            let radius = centre.map_or(1.0, |centre| area.profile_m[corner][0] - centre);
            area.width_m[corner] / (2.0 * radius)
        };
        let widest = (0..area.profile_m.len()).map(|corner| 2.0 * half_turn(corner).abs());
        let sectors = centre.map_or(1, |_| sectors(area, widest.fold(0.0, f64::max)));
        let place = |corner: usize, across: usize| -> Place {
            let [x, z] = area.profile_m[corner];
            let share = 2.0 * across as f64 / sectors as f64 - 1.0;
            match centre {
                None => [x, share * area.width_m[corner] / 2.0, z],
                Some(centre) => {
                    let (sin, cos) = direction(share * half_turn(corner));
                    [centre + (x - centre) * cos, (x - centre) * sin, z]
                }
            }
        };
        let mut facets = Vec::new();
        for piece in 1..area.profile_m.len() {
            for across in 1..=sectors {
                let [a, b, c, d] = [
                    place(piece - 1, across - 1),
                    place(piece, across - 1),
                    place(piece, across),
                    place(piece - 1, across),
                ];
                // A quarter of an arc's cone need not be plane; two triangles are.
                let plane: &[&[Place]] = if centre.is_none() {
                    &[&[a, b, c, d]]
                } else {
                    &[&[a, b, c], &[a, c, d]]
                };
                facets.extend(plane.iter().filter_map(|one| Facet::new(one.to_vec())));
            }
        }
        let edges = edges_of(&facets);
        Self { facets, edges }
    }

    /// The floor inside its outline.
    fn within(area: &SeatArea) -> Self {
        let mut floor = Self::default();
        let outline = &area.outline_m;
        let directions = directions(area);
        let last = area.profile_m.len() - 1;
        for pair in directions.windows(2) {
            let mut before: Option<Place> = None;
            for (piece, ends) in area.profile_m.windows(2).enumerate() {
                let start = line_across(area, pair, ends[0]);
                let end = line_across(area, pair, ends[1]);
                let Some(cell) = cell(area, pair, ends) else {
                    for [a, b] in inside(start, outline) {
                        let up = |p: Point, z: f64| [p[0], p[1], z];
                        let corners = [(a, 0), (b, 0), (b, 1), (a, 1)];
                        let riser = corners.map(|(p, at)| up(p, ends[at][1])).to_vec();
                        floor.facets.extend(Facet::new(riser));
                    }
                    let [a, b] = start;
                    let level = [b[1] - a[1], a[0] - b[0]];
                    let size = level[0].hypot(level[1]);
                    before = Some([level[0] / size, level[1] / size, 0.0]);
                    continue;
                };
                let cut = cell
                    .cuts()
                    .fold(outline.clone(), |kept, [from, to]| cut_by(&kept, from, to));
                let facet = Facet::new(cut.iter().map(|&p| cell.lifted(p)).collect());
                let normal = Facet::new(cell.plan_m.map(|p| cell.lifted(p)).to_vec())
                    .map(|whole| whole.normal());
                let Some(normal) = normal else { continue };
                floor.facets.extend(facet);
                let lift = |[a, b]: [Point; 2]| [cell.lifted(a), cell.lifted(b)];
                for side in sides(outline).filter_map(|side| clipped(side, &cell)) {
                    floor.edges.push(Edge::rim(lift(side), normal));
                }
                let first = inside(start, outline).into_iter().map(lift);
                match before {
                    _ if piece == 0 => floor.edges.extend(first.map(|e| Edge::rim(e, normal))),
                    Some(other) => {
                        floor
                            .edges
                            .extend(first.filter_map(|e| Edge::crest(e, [other, normal])));
                    }
                    None => {}
                }
                if piece + 1 == last {
                    let far = inside(end, outline).into_iter().map(lift);
                    floor.edges.extend(far.map(|e| Edge::rim(e, normal)));
                }
                before = Some(normal);
            }
        }
        floor
    }
}

/// Number of sectors for a turn of `turn_rad`.
fn sectors(area: &SeatArea, turn_rad: f64) -> usize {
    let centre = area.row_centre_x_m.unwrap_or(0.0);
    let radii = area.profile_m.iter().map(|[x, _]| (x - centre).abs());
    let radius_m = radii.fold(0.0, f64::max);
    let one_rad = 2.0 * (1.0 - SAGITTA_M / radius_m.max(2.0 * SAGITTA_M)).acos();
    (turn_rad / one_rad).ceil().clamp(1.0, 400.0) as usize
}

/// Sine and cosine, the same to the last bit for both ends of a full turn.
fn direction(angle_rad: f64) -> (f64, f64) {
    if angle_rad >= PI { -PI } else { angle_rad }.sin_cos()
}

/// The directions between which the sectors lie; two that stand for straight rows.
fn directions(area: &SeatArea) -> Vec<f64> {
    if area.row_centre_x_m.is_none() {
        return vec![0.0, 0.0];
    }
    let count = sectors(area, 2.0 * PI);
    let part = |at: usize| PI * (2.0 * at as f64 / count as f64 - 1.0);
    (0..=count).map(part).collect()
}

/// The row through a corner of the floor line, from right to left, over one sector; or, straight,
/// across the whole outline.
fn line_across(area: &SeatArea, between_rad: &[f64], [x, _]: Point) -> [Point; 2] {
    match area.row_centre_x_m {
        None => {
            let reach = |least: f64, corner: &Point| least.max(corner[1].abs() + 1.0);
            let wide = area.outline_m.iter().fold(0.0, reach);
            [[x, -wide], [x, wide]]
        }
        Some(centre) => [0, 1].map(|end| {
            let (sin, cos) = direction(between_rad[end]);
            [centre + (x - centre) * cos, (x - centre) * sin]
        }),
    }
}

/// None for a riser.
fn cell(area: &SeatArea, between_rad: &[f64], ends: &[Point]) -> Option<Cell> {
    let [from, to] = [ends[0], ends[1]];
    if from[0] == to[0] {
        return None;
    }
    let [a, d] = line_across(area, between_rad, from);
    let [b, c] = line_across(area, between_rad, to);
    let mut plan_m = [a, b, c, d];
    let twice_area: f64 = sides(&plan_m).map(|[p, q]| p[0] * q[1] - q[0] * p[1]).sum();
    if twice_area < 0.0 {
        plan_m.reverse();
    }
    let centre_m = [area.row_centre_x_m.unwrap_or(0.0), 0.0];
    let middle_rad = (between_rad[0] + between_rad[1]) / 2.0;
    let chord = ((between_rad[1] - between_rad[0]) / 2.0).cos();
    let (sin, cos) = middle_rad.sin_cos();
    let out = |[x, z]: Point| [(x - centre_m[0]) * chord, z];
    Some(Cell {
        plan_m,
        centre_m,
        outward: [cos, sin],
        start: out(from),
        end: out(to),
    })
}

/// The stretches of a line on the plan that lie inside an outline.
fn inside([from, to]: [Point; 2], outline: &[Point]) -> Vec<[Point; 2]> {
    let along = [to[0] - from[0], to[1] - from[1]];
    let at = |t: f64| [from[0] + t * along[0], from[1] + t * along[1]];
    let off = |p: Point| along[0] * (p[1] - from[1]) - along[1] * (p[0] - from[0]);
    let mut marks = vec![0.0, 1.0];
    for [a, b] in sides(outline) {
        let (at_a, at_b) = (off(a), off(b));
        if (at_a > 0.0) != (at_b > 0.0) {
            let share = at_a / (at_a - at_b);
            let p = [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
            let way = (p[0] - from[0]) * along[0] + (p[1] - from[1]) * along[1];
            marks.push(way / (along[0] * along[0] + along[1] * along[1]));
        }
    }
    marks.retain(|mark| (0.0..=1.0).contains(mark));
    marks.sort_by(f64::total_cmp);
    marks
        .windows(2)
        .filter(|ends| ends[1] > ends[0] && is_inside(at((ends[0] + ends[1]) / 2.0), outline))
        .map(|ends| [at(ends[0]), at(ends[1])])
        .collect()
}

/// The part of a side of the outline that lies over a cell.
fn clipped([mut from, mut to]: [Point; 2], cell: &Cell) -> Option<[Point; 2]> {
    for [a, b] in cell.cuts() {
        let left = |p: Point| (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
        let (at_from, at_to) = (left(from), left(to));
        if at_from < 0.0 && at_to < 0.0 {
            return None;
        }
        if at_from * at_to < 0.0 {
            let t = at_from / (at_from - at_to);
            let cut = [
                from[0] + t * (to[0] - from[0]),
                from[1] + t * (to[1] - from[1]),
            ];
            if at_from < 0.0 {
                from = cut;
            } else {
                to = cut;
            }
        }
    }
    (from != to).then_some([from, to])
}
