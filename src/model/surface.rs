//! What stands in the way of sound besides the floors under the seats.

use super::facet::{Facet, Place, crossing_sides, length, minus, vector_area_m2};
use super::{Check, Point, check_point};
use crate::error::{InputError, Result, accept, each, finite};
use serde::{Deserialize, Serialize};

/// Corners of a polygon lie in one plane within this.
const FLAT_M: f64 = 2e-3;

/// More corners are taken for a slip of the pen.
const MOST_CORNERS: usize = 1_000;

/// A surface without stated sides goes on to here: far beyond any room.
const ENDLESS_M: f64 = 1e4;

/// A wall, a balcony front, a ceiling, a stage: a line in the section that runs across the room, or
/// a plane polygon in space. It blocks sound and has no thickness.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Surface {
    /// Name printed on sheets.
    pub name: String,
    /// Line in the section, `[x, z]` of each corner, in order; empty for a polygon.
    #[serde(default)]
    pub profile_m: Vec<Point>,
    /// Right and left end, y, of the surface across the room; none has no end.
    #[serde(default)]
    pub across_m: Option<[f64; 2]>,
    /// Corners `[x, y, z]` of a plane polygon, in order; empty with a line in the section.
    #[serde(default)]
    pub polygon_m: Vec<Place>,
}

impl Surface {
    /// Its plane pieces.
    pub(super) fn facets(&self) -> Vec<Facet> {
        if !self.polygon_m.is_empty() {
            return Facet::new(self.polygon_m.clone()).into_iter().collect();
        }
        let [right, left] = self.across_m.unwrap_or([-ENDLESS_M, ENDLESS_M]);
        let pieces = self.profile_m.windows(2).filter_map(|ends| {
            let [[x0, z0], [x1, z1]] = [ends[0], ends[1]];
            Facet::new(vec![
                [x0, right, z0],
                [x1, right, z1],
                [x1, left, z1],
                [x0, left, z0],
            ])
        });
        pieces.collect()
    }

    fn check_profile(&self) -> Result<()> {
        accept(
            (2..=MOST_CORNERS).contains(&self.profile_m.len()),
            "profile_m",
            self.profile_m.len(),
            format!("2 to {MOST_CORNERS} corners, or a polygon_m"),
        )?;
        for (index, &corner) in self.profile_m.iter().enumerate() {
            check_point(&format!("profile_m[{index}]"), corner)?;
        }
        let long = |ends: &[Point]| ends[0] != ends[1];
        accept(
            self.profile_m.windows(2).all(long),
            "profile_m",
            format!("{:?}", self.profile_m),
            "corners that follow each other at different places",
        )?;
        let Some(across_m) = self.across_m else {
            return Ok(());
        };
        each("across_m", &across_m, finite)?;
        accept(
            across_m[1] > across_m[0],
            "across_m[1]",
            across_m[1],
            format!("above {}", across_m[0]),
        )
        .map(drop)
    }

    fn check_polygon(&self) -> Result<()> {
        let refuse =
            |allowed: &str| InputError::new("polygon_m", format!("{:?}", self.polygon_m), allowed);
        accept(
            (3..=MOST_CORNERS).contains(&self.polygon_m.len()),
            "polygon_m",
            self.polygon_m.len(),
            format!("3 to {MOST_CORNERS} corners"),
        )?;
        accept(
            self.across_m.is_none(),
            "across_m",
            format!("{:?}", self.across_m),
            "left out where a polygon is given",
        )?;
        for (index, corner) in self.polygon_m.iter().enumerate() {
            each(&format!("polygon_m[{index}]"), corner, finite)?;
        }
        let area = vector_area_m2(&self.polygon_m);
        let size = length(area);
        let Some(facet) = Facet::new(self.polygon_m.clone()) else {
            return Err(refuse("corners about an area"));
        };
        let off_m = |&corner: &Place| facet.height_m(corner).abs();
        if self.polygon_m.iter().map(off_m).any(|off| off > FLAT_M) {
            return Err(refuse("corners in one plane"));
        }
        let origin = self.polygon_m[0];
        let along = (0..3)
            .max_by(|&a, &b| area[a].abs().total_cmp(&area[b].abs()))
            .unwrap_or(2);
        let flat: Vec<Point> = self
            .polygon_m
            .iter()
            .map(|&corner| minus(corner, origin))
            .map(|c| [c[(along + 1) % 3], c[(along + 2) % 3]])
            .collect();
        if crossing_sides(&flat).is_some() || size == 0.0 {
            return Err(refuse("an outline that does not cross itself"));
        }
        Ok(())
    }
}

impl Check for Surface {
    fn check(&self) -> Result<()> {
        if self.polygon_m.is_empty() {
            self.check_profile()
        } else {
            accept(
                self.profile_m.is_empty(),
                "profile_m",
                format!("{:?}", self.profile_m),
                "left out where a polygon is given",
            )?;
            self.check_polygon()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn polygon(corners: &[Place]) -> Surface {
        Surface {
            name: "wall".into(),
            profile_m: Vec::new(),
            across_m: None,
            polygon_m: corners.to_vec(),
        }
    }

    #[test]
    fn bent_crossed_and_flat_polygons_are_refused() {
        let corners = [
            [0.0, 0.0, 0.0],
            [0.0, 2.0, 0.0],
            [0.0, 2.0, 2.0],
            [0.0, 0.0, 2.0],
        ];
        assert!(polygon(&corners).check().is_ok());
        let mut bent = corners;
        bent[2][0] = 0.1;
        let mut crossed = corners;
        crossed.swap(1, 2);
        let line = [[0.0; 3], [1.0; 3], [3.0; 3]];
        for bad in [&bent[..], &crossed[..], &line[..], &corners[..2]] {
            assert_eq!(polygon(bad).check().unwrap_err().field, "polygon_m");
        }
    }

    #[test]
    fn an_endless_line_makes_one_facet_for_each_piece() {
        let surface = Surface {
            name: "soffit".into(),
            profile_m: vec![[10.0, 4.0], [20.0, 4.0], [20.0, 5.0]],
            across_m: None,
            polygon_m: Vec::new(),
        };
        surface.check().unwrap();
        let facets = surface.facets();
        assert_eq!(facets.len(), 2);
        assert!(
            facets[0]
                .crossing([15.0, 900.0, 3.0], [15.0, 900.0, 5.0])
                .is_some()
        );
    }
}
