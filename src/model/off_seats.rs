//! Where sound is wasted, or does harm: places of a venue where nobody sits.
//!
//! Blocks whose ear lines end within [`JOINED_M`] of each other are one group: one sweep of seats
//! as the hang sees it. Behind and above the farthest row of each group stands a wall; a group
//! whose nearest row lies [`RAISED_M`] above the lowest floor has a front edge; and before the
//! first row is a stage. Places nearer than [`APART_M`] to an ear line are left out: they belong
//! to the seats. The distances are our own choice.

use super::{Point, Venue};

/// Ends of ear lines nearer than this belong together: an aisle is no gap.
const JOINED_M: f64 = 3.0;
const RAISED_M: f64 = 2.0;
const APART_M: f64 = 1.5;

/// Behind the farthest row, and above the ears there.
const BEHIND_M: f64 = 2.0;
const ABOVE_M: [f64; 3] = [1.5, 3.0, 6.0];

/// Before the corner of the front edge, and below it.
const BEFORE_M: f64 = 0.5;
const BELOW_M: [f64; 2] = [0.3, 1.2];

/// Behind the plane of the hang, and above the lowest floor: people stand on a stage of a metre.
const STAGE_M: [f64; 2] = [-2.0, -6.0];
const STAGE_EAR_M: f64 = 2.6;

/// What a place off the seats is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OffSeatsKind {
    /// Behind and above the last row of this block.
    Behind(usize),
    /// The front edge of this block.
    FrontEdge(usize),
    /// The stage.
    Stage,
    /// One that the goals name, by its place among them.
    Named(usize),
}

/// A place off the seats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OffSeats {
    /// What it is.
    pub kind: OffSeatsKind,
    /// Where, `[x, y, z]` in room axes.
    pub place_m: [f64; 3],
}

impl Venue {
    /// Blocks in groups that a hang sees without a gap, each by its indices.
    #[must_use]
    pub fn groups(&self) -> Vec<Vec<usize>> {
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for area in 0..self.areas.len() {
            let (joined, mut apart): (Vec<_>, Vec<_>) = groups
                .into_iter()
                .partition(|group| group.iter().any(|&other| self.joined(area, other)));
            let mut group: Vec<usize> = joined.concat();
            group.push(area);
            apart.push(group);
            groups = apart;
        }
        groups
    }

    fn joined(&self, a: usize, b: usize) -> bool {
        let ends = |area: usize| {
            let line: Vec<Point> = self.areas[area].ear_line_m().collect();
            [line.first().copied(), line.last().copied()]
                .into_iter()
                .flatten()
                .collect::<Vec<_>>()
        };
        ends(a)
            .iter()
            .any(|p| ends(b).iter().any(|q| distance_m(*p, *q) <= JOINED_M))
    }

    /// Places off the seats that follow from the blocks.
    #[must_use]
    pub fn off_seats(&self) -> Vec<OffSeats> {
        let corners = |area: usize| self.areas[area].ear_line_m().map(move |ear| (ear, area));
        let floor_m = self
            .areas
            .iter()
            .flat_map(|area| area.profile_m.iter().map(|corner| corner[1]))
            .fold(f64::INFINITY, f64::min);
        let mut places = Vec::new();
        for group in self.groups() {
            let ears: Vec<(Point, usize)> = group.iter().flat_map(|&a| corners(a)).collect();
            let by_distance =
                |a: &&(Point, usize), b: &&(Point, usize)| a.0[0].abs().total_cmp(&b.0[0].abs());
            if let Some(&([x, z], area)) = ears.iter().max_by(by_distance) {
                let out = x.signum();
                places.extend(ABOVE_M.map(|above_m| {
                    (
                        OffSeatsKind::Behind(area),
                        [x + out * BEHIND_M, z + above_m],
                    )
                }));
            }
            if let Some(&([x, z], area)) = ears.iter().min_by(by_distance) {
                let edge_m = z - self.areas[area].ear_height_m;
                if edge_m - floor_m >= RAISED_M {
                    places.extend(BELOW_M.map(|below_m| {
                        let x = x - x.signum() * BEFORE_M;
                        (OffSeatsKind::FrontEdge(area), [x, edge_m - below_m])
                    }));
                }
            }
        }
        places.extend(STAGE_M.map(|x| (OffSeatsKind::Stage, [x, floor_m + STAGE_EAR_M])));
        places
            .into_iter()
            .filter(|(_, place)| self.distance_from_ears_m(*place) >= APART_M)
            .map(|(kind, [x, z])| OffSeats {
                kind,
                place_m: [x, 0.0, z],
            })
            .collect()
    }

    fn distance_from_ears_m(&self, place: Point) -> f64 {
        self.areas
            .iter()
            .flat_map(|area| {
                let line: Vec<Point> = area.ear_line_m().collect();
                line.windows(2)
                    .map(|ends| distance_from_piece_m(place, ends[0], ends[1]))
                    .collect::<Vec<_>>()
            })
            .fold(f64::INFINITY, f64::min)
    }
}

fn distance_m(a: Point, b: Point) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

fn distance_from_piece_m(place: Point, from: Point, to: Point) -> f64 {
    let along = [to[0] - from[0], to[1] - from[1]];
    let square = along[0].powi(2) + along[1].powi(2);
    let share = ((place[0] - from[0]) * along[0] + (place[1] - from[1]) * along[1])
        / square.max(f64::MIN_POSITIVE);
    let share = share.clamp(0.0, 1.0);
    distance_m(
        place,
        [from[0] + share * along[0], from[1] + share * along[1]],
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Study, from_json};

    fn hall() -> Venue {
        let text = include_str!("../../python/hangarc/demo/study.json");
        from_json::<Study>(text).unwrap().venue.clone()
    }

    #[test]
    fn an_aisle_is_no_gap_and_a_balcony_is_one() {
        assert_eq!(hall().groups(), [vec![0, 1], vec![2]]);
    }

    #[test]
    fn places_off_the_seats_are_off_the_seats() {
        let hall = hall();
        let places = hall.off_seats();
        let of = |kind| places.iter().filter(|place| place.kind == kind).count();
        assert_eq!(of(OffSeatsKind::Behind(2)), 3);
        assert_eq!(of(OffSeatsKind::FrontEdge(2)), 2);
        assert_eq!(of(OffSeatsKind::FrontEdge(0)), 0);
        assert_eq!(of(OffSeatsKind::Stage), 2);
        for place in &places {
            let [x, _, z] = place.place_m;
            assert!(hall.distance_from_ears_m([x, z]) >= APART_M);
        }
    }
}
