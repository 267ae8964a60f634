//! Everything of a venue that blocks sound: floors and surfaces as plane pieces, with the edges
//! that sound can bend round.
//!
//! Surfaces that touch make one *body*: sound that comes to the edge of one finds the other there
//! and has to go on to an edge that is free. An edge where two pieces of one body meet at an angle
//! is a *crest*, round which sound bends only to come back to the side it started from.

use super::edge::{Edge, edges_of, touches};
use super::facet::{Facet, Place};
use super::floor::Floor;
use super::{Surface, Venue};
use crate::error::{InputError, Result};

/// One floor or surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Blocker {
    /// Its name; of a floor, that of the seat area with "floor of" before it.
    pub name: String,
    /// Index of the seat area whose floor it is.
    pub area: Option<usize>,
    /// Plane pieces.
    pub facets: Vec<Facet>,
}

/// Surfaces that touch, with their free edges.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Body {
    /// Plane pieces.
    pub facets: Vec<Facet>,
    /// Free edges and crests.
    pub edges: Vec<Edge>,
}

/// What blocks sound in a venue.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Blocking {
    /// Floors in the order of the areas, then surfaces in theirs.
    pub blockers: Vec<Blocker>,
    /// The same, those that touch together.
    pub bodies: Vec<Body>,
}

/// Where a line ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meeting {
    /// Index of the blocker.
    pub blocker: usize,
    /// Share of the line before it.
    pub share: f64,
}

impl Blocker {
    /// Heights of its corners.
    fn heights_m(&self) -> impl Iterator<Item = f64> + '_ {
        let corners = self.facets.iter().flat_map(Facet::corners_m);
        corners.map(|&[_, _, z]| z)
    }

    /// Whether it lies plumb under a place.
    fn is_under(&self, [x, y, z]: Place) -> bool {
        let deep_m = self.heights_m().fold(z, f64::min) - 1.0;
        let mut facets = self.facets.iter();
        facets.any(|facet| facet.crossing([x, y, z], [x, y, deep_m]).is_some())
    }
}

impl Blocking {
    pub(super) fn of(venue: &Venue) -> Self {
        let mut blockers = Vec::new();
        let mut edges = Vec::new();
        for (index, area) in venue.areas.iter().enumerate() {
            if !venue.floors_block {
                break;
            }
            let floor = Floor::of(area);
            edges.push(floor.edges);
            blockers.push(Blocker {
                name: format!("floor of {}", area.name),
                area: Some(index),
                facets: floor.facets,
            });
        }
        for surface in &venue.surfaces {
            let facets = Surface::facets(surface);
            edges.push(edges_of(&facets));
            blockers.push(Blocker {
                name: surface.name.clone(),
                area: None,
                facets,
            });
        }
        let bodies = bodies(&blockers, edges);
        Self { blockers, bodies }
    }

    /// The floors raised to the ears; nothing bends round their edges.
    pub(super) fn of_ears(venue: &Venue) -> Self {
        let ears = venue.areas.iter().enumerate().map(|(index, area)| {
            let floor = Floor::of(area).facets;
            let facets = floor.iter().map(|facet| facet.raised(area.ear_height_m));
            Blocker {
                name: area.name.clone(),
                area: Some(index),
                facets: facets.collect(),
            }
        });
        Self {
            blockers: ears.collect(),
            bodies: Vec::new(),
        }
    }

    /// The first floor or surface that a straight line goes through.
    #[must_use]
    pub fn first(&self, from_m: Place, to_m: Place) -> Option<Meeting> {
        let mut first: Option<Meeting> = None;
        for (blocker, surface) in self.blockers.iter().enumerate() {
            for facet in &surface.facets {
                if let Some(share) = facet.crossing(from_m, to_m)
                    && first.is_none_or(|other| share < other.share)
                {
                    first = Some(Meeting { blocker, share });
                }
            }
        }
        first
    }

    /// Whether nothing is in the way of a straight line.
    #[must_use]
    pub fn sees(&self, from_m: Place, to_m: Place) -> bool {
        let facets = self.blockers.iter().flat_map(|surface| &surface.facets);
        facets
            .into_iter()
            .all(|facet| facet.crossing(from_m, to_m).is_none())
    }

    /// Whether all of it is the same seen in the mirror y = 0.
    #[must_use]
    pub fn is_symmetric(&self) -> bool {
        let key = |[x, y, z]: Place| [x, y, z].map(|part| (part * 1e6).round() as i64);
        let edges = || self.bodies.iter().flat_map(|body| &body.edges);
        let keys = |sign: f64| {
            let mut keys: Vec<[[i64; 3]; 2]> = edges()
                .map(|edge| {
                    let mut ends = edge.ends_m.map(|[x, y, z]| key([x, sign * y, z]));
                    ends.sort_unstable();
                    ends
                })
                .collect();
            keys.sort_unstable();
            keys
        };
        keys(1.0) == keys(-1.0)
    }
}

/// Puts blockers that touch together. Of the edges that lie on another blocker none is free; where
/// two edges lie on each other they may make a crest.
fn bodies(blockers: &[Blocker], edges: Vec<Vec<Edge>>) -> Vec<Body> {
    let count = blockers.len();
    let mut body_of: Vec<usize> = (0..count).collect();
    let mut free: Vec<Vec<Edge>> = vec![Vec::new(); count];
    for (one, edges) in edges.into_iter().enumerate() {
        for edge in edges {
            let touched: Vec<usize> = (0..count)
                .filter(|&other| other != one && edge.lies_on(&blockers[other].facets))
                .collect();
            for &other in &touched {
                let (mine, theirs) = (body_of[one], body_of[other]);
                for body in &mut body_of {
                    if *body == theirs {
                        *body = mine;
                    }
                }
            }
            match touched.first() {
                None => free[one].push(edge),
                Some(&other) if other > one => {
                    let there = edge.probes_m()[1];
                    let beside = blockers[other].facets.iter().find(|f| touches(f, there));
                    let normals = beside.map(|facet| [edge.normals[0], facet.normal()]);
                    free[one].extend(normals.and_then(|pair| Edge::crest(edge.ends_m, pair)));
                }
                Some(_) => {}
            }
        }
    }
    let mut bodies = Vec::new();
    for body in 0..count {
        let members: Vec<usize> = (0..count).filter(|&one| body_of[one] == body).collect();
        if members.is_empty() {
            continue;
        }
        bodies.push(Body {
            facets: members
                .iter()
                .flat_map(|&one| blockers[one].facets.clone())
                .collect(),
            edges: members
                .iter()
                .flat_map(|&one| free[one].drain(..).collect::<Vec<Edge>>())
                .collect(),
        });
    }
    bodies
}

impl Venue {
    /// What blocks sound.
    #[must_use]
    pub fn blocking(&self) -> Blocking {
        Blocking::of(self)
    }

    /// The floors raised to the ears, one entry per area.
    #[must_use]
    pub fn ears(&self) -> Blocking {
        Blocking::of_ears(self)
    }

    /// Refuses a surface between a seat's floor and its ears, and one under seats that is below every
    /// floor: meant as a roof it has the wrong sign, and it shades nobody.
    pub(super) fn check_roofs(&self) -> Result<()> {
        if self.surfaces.is_empty() {
            return Ok(());
        }
        let mut alone = self.clone();
        alone.floors_block = false;
        let blocking = alone.blocking();
        let floors = self.areas.iter().flat_map(|area| &area.profile_m);
        let lowest_m = floors.map(|&[_, z]| z).fold(f64::INFINITY, f64::min);
        let below = |surface: &Blocker| surface.heights_m().all(|z| z < lowest_m);
        let sunk: Vec<usize> = (0..self.surfaces.len())
            .filter(|&index| below(&blocking.blockers[index]))
            .collect();
        for seat in self.seats() {
            let area = &self.areas[seat.area];
            let mut floor_m = seat.ear_m;
            floor_m[2] -= area.ear_height_m;
            let under = |&&index: &&usize| blocking.blockers[index].is_under(floor_m);
            if let Some(&index) = sunk.iter().find(under) {
                return Err(InputError::new(
                    &format!("surfaces[{index}]"),
                    &self.surfaces[index].name,
                    format!(
                        "a surface that is not below every floor; under the seats of {} it shades \
                         nobody",
                        area.name
                    ),
                ));
            }
            if let Some(met) = blocking.first(floor_m, seat.ear_m) {
                let [x, y, z] = seat.ear_m;
                return Err(InputError::new(
                    &format!("surfaces[{}]", met.blocker),
                    &self.surfaces[met.blocker].name,
                    format!(
                        "a surface clear of the ears of {}; one seat there is at \
                         ({x:.2}, {y:.2}, {z:.2})",
                        area.name
                    ),
                ));
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::SeatArea;
    use crate::model::facet::{length, minus};

    fn area(fields: &str) -> SeatArea {
        serde_json::from_str(fields).unwrap()
    }

    fn venue(areas: Vec<SeatArea>, surfaces: Vec<Surface>) -> Blocking {
        let venue = Venue {
            name: "demo data".into(),
            areas,
            surfaces,
            floors_block: true,
            hidden_seats: Default::default(),
        };
        venue.blocking()
    }

    fn line(name: &str, profile_m: &[[f64; 2]]) -> Surface {
        Surface {
            name: name.into(),
            profile_m: profile_m.to_vec(),
            across_m: None,
            polygon_m: Vec::new(),
        }
    }

    #[test]
    fn a_bent_floor_has_a_rim_about_it_and_a_crest_at_the_bend() {
        let stalls = area(r#"{"name":"a","profile_m":[[0,0],[9,0],[15,2]],"width_m":[8,8,9]}"#);
        let blocking = venue(vec![stalls], Vec::new());
        let edges = &blocking.bodies[0].edges;
        assert_eq!(edges.iter().filter(|edge| edge.is_crest()).count(), 1);
        assert_eq!(edges.iter().filter(|edge| !edge.is_crest()).count(), 6);
    }

    #[test]
    fn the_same_floor_by_width_and_by_outline_blocks_the_same_lines() {
        let profile = r#""profile_m":[[4,0],[9,0.5],[9,1],[15,2]]"#;
        let by_width = format!(r#"{{"name":"a",{profile},"width_m":[6,6,6,6]}}"#);
        let by_outline =
            format!(r#"{{"name":"a",{profile},"outline_m":[[0,-3],[20,-3],[20,3],[0,3]]}}"#);
        let [one, other] = [by_width, by_outline].map(|text| venue(vec![area(&text)], Vec::new()));
        let mut random = 1u64;
        let mut draw = |low: f64, high: f64| {
            random = random.wrapping_mul(6364136223846793005).wrapping_add(1);
            low + (high - low) * (random >> 11) as f64 / (1u64 << 53) as f64
        };
        let mut met = 0;
        for _ in 0..2000 {
            let from = [draw(0.0, 20.0), draw(-5.0, 5.0), draw(0.0, 5.0)];
            let to = [draw(0.0, 20.0), draw(-5.0, 5.0), draw(-3.0, 1.0)];
            assert_eq!(one.sees(from, to), other.sees(from, to), "{from:?} {to:?}");
            met += usize::from(!one.sees(from, to));
        }
        assert!(met > 400, "{met}");
        let rims = |b: &Blocking| {
            let rims = b.bodies[0].edges.iter().filter(|edge| !edge.is_crest());
            rims.map(|edge| length(minus(edge.ends_m[0], edge.ends_m[1])))
                .sum::<f64>()
        };
        // The sides of the riser, half a metre each, are left out with an outline.
        approx::assert_relative_eq!(rims(&one), rims(&other) + 1.0, max_relative = 1e-9);
    }

    #[test]
    fn a_balcony_front_at_the_floors_edge_makes_one_body_with_it() {
        let balcony = area(r#"{"name":"a","profile_m":[[20,6],[30,7]],"width_m":[10,10]}"#);
        let front = line("front", &[[20.0, 5.0], [20.0, 7.0]]);
        let apart = line("wall", &[[40.0, 0.0], [40.0, 9.0]]);
        let blocking = venue(vec![balcony], vec![front, apart]);
        assert_eq!(blocking.bodies.len(), 2);
        let edges = &blocking.bodies[0].edges;
        let at_front = |edge: &&Edge| edge.ends_m.iter().all(|end| end[0] == 20.0);
        let rims: Vec<&Edge> = edges
            .iter()
            .filter(at_front)
            .filter(|e| !e.is_crest())
            .collect();
        assert!(
            rims.iter()
                .all(|edge| edge.ends_m[0][1].abs() > 1e3 || edge.ends_m[0][2] != 6.0)
        );
        assert_eq!(edges.iter().filter(|edge| edge.is_crest()).count(), 1);
        assert!(blocking.is_symmetric());
    }

    #[test]
    fn a_ring_of_seats_has_no_side_edges() {
        let text = r#"{"name":"a","profile_m":[[5,0],[9,2]],"row_centre_x_m":0,
            "outline_m":[[-20,-20],[20,-20],[20,20],[-20,20]]}"#;
        let blocking = venue(vec![area(text)], Vec::new());
        let [body] = &blocking.bodies[..] else {
            panic!("{}", blocking.bodies.len());
        };
        let around = |end: Place, radius: f64| (end[0].hypot(end[1]) - radius).abs() < 1e-9;
        for edge in &body.edges {
            let [a, b] = edge.ends_m;
            assert!((around(a, 5.0) && around(b, 5.0)) || (around(a, 9.0) && around(b, 9.0)));
        }
        assert!(!blocking.sees([-7.0, 0.0, 5.0], [-7.0, 0.0, 0.0]));
        assert!(blocking.sees([-3.0, 0.0, 5.0], [-3.0, 0.0, 0.0]));
    }
}
