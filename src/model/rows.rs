//! How the rows of a seat area run over the floor plan.
//!
//! A row is a line x = const or, about a centre (x_c, 0), an arc of radius x − x_c, x being where it
//! crosses y = 0. Along it, s is counted from there, positive to the left (y > 0). An outline on the
//! plan cuts it into the stretches whose middles lie inside, by the even–odd rule.

use super::Point;
use super::facet::sides;
use std::f64::consts::PI;

/// A piece of a row that people sit on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stretch {
    pub middle_m: f64,
    pub length_m: f64,
}

impl Stretch {
    fn between(from_m: f64, to_m: f64) -> Self {
        Self {
            middle_m: (from_m + to_m) / 2.0,
            length_m: to_m - from_m,
        }
    }
}

/// One row of a seat area.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// Where it crosses the plane y = 0: x, and height of the floor.
    pub floor_m: Point,
    /// The same counted in corners of the floor line: 1.5 is half way from corner 1 to corner 2.
    pub corner: f64,
    /// x − x_c; none for a straight row.
    pub radius_m: Option<f64>,
    pub stretches: Vec<Stretch>,
}

impl Row {
    /// The row on its whole width.
    pub fn of_width(floor_m: Point, radius_m: Option<f64>, width_m: f64) -> Self {
        Self {
            floor_m,
            corner: 0.0,
            radius_m,
            stretches: vec![Stretch {
                middle_m: 0.0,
                length_m: width_m,
            }],
        }
    }

    /// The row as far as it lies inside an outline.
    pub fn within(floor_m: Point, radius_m: Option<f64>, outline_m: &[Point]) -> Self {
        let mut row = Self {
            floor_m,
            corner: 0.0,
            radius_m,
            stretches: Vec::new(),
        };
        let mut crossings_m: Vec<f64> = sides(outline_m)
            .flat_map(|[from, to]| row.crossings_m(from, to))
            .collect();
        if let Some(radius_m) = radius_m {
            crossings_m.extend([-PI * radius_m.abs(), PI * radius_m.abs()]);
        }
        crossings_m.sort_by(f64::total_cmp);
        row.stretches = crossings_m
            .windows(2)
            .map(|ends| Stretch::between(ends[0], ends[1]))
            .filter(|stretch| stretch.length_m > 0.0)
            .filter(|stretch| is_inside(row.plan_m(stretch.middle_m), outline_m))
            .collect();
        row
    }

    /// Where along the row the side of an outline crosses it.
    fn crossings_m(&self, from: Point, to: Point) -> Vec<f64> {
        let side = [to[0] - from[0], to[1] - from[1]];
        let Some(radius_m) = self.radius_m else {
            let x = self.floor_m[0];
            if (from[0] > x) == (to[0] > x) {
                return Vec::new();
            }
            return vec![from[1] + side[1] * (x - from[0]) / side[0]];
        };
        // |from + t side − centre|² = radius².
        let from = [from[0] - (self.floor_m[0] - radius_m), from[1]];
        let a = side[0] * side[0] + side[1] * side[1];
        let b = from[0] * side[0] + from[1] * side[1];
        let c = from[0] * from[0] + from[1] * from[1] - radius_m * radius_m;
        let root = (b * b - a * c).sqrt();
        [(-b - root) / a, (-b + root) / a]
            .into_iter()
            .filter(|t| (0.0..1.0).contains(t))
            .map(|t| [from[0] + t * side[0], from[1] + t * side[1]])
            .map(|[x, y]| radius_m.abs() * y.atan2(x * radius_m.signum()))
            .collect()
    }

    /// The place on the plan at `along_m` along the row.
    pub fn plan_m(&self, along_m: f64) -> Point {
        match self.radius_m {
            None => [self.floor_m[0], along_m],
            Some(radius_m) => {
                let (sin, cos) = (along_m / radius_m).sin_cos();
                [self.floor_m[0] + radius_m * (cos - 1.0), radius_m * sin]
            }
        }
    }

    pub fn length_m(&self) -> f64 {
        self.stretches.iter().map(|stretch| stretch.length_m).sum()
    }

    /// Where the share `share` of the row's length lies to the right.
    pub fn along_m(&self, share: f64) -> f64 {
        if let [stretch] = self.stretches[..] {
            return stretch.middle_m + stretch.length_m * (share - 0.5);
        }
        let mut beyond_m = share * self.length_m();
        for stretch in &self.stretches {
            if beyond_m <= stretch.length_m {
                return stretch.middle_m - stretch.length_m / 2.0 + beyond_m;
            }
            beyond_m -= stretch.length_m;
        }
        self.stretches
            .last()
            .map_or(0.0, |last| last.middle_m + last.length_m / 2.0)
    }
}

/// Even–odd rule.
pub(super) fn is_inside(place_m: Point, outline_m: &[Point]) -> bool {
    let [x, y] = place_m;
    sides(outline_m)
        .filter(|[from, to]| {
            (from[0] > x) != (to[0] > x)
                && from[1] + (to[1] - from[1]) * (x - from[0]) / (to[0] - from[0]) > y
        })
        .count()
        % 2
        == 1
}

/// Twice the area an outline encloses, positive counter-clockwise.
pub(super) fn twice_area_m2(outline_m: &[Point]) -> f64 {
    sides(outline_m)
        .map(|[from, to]| from[0] * to[1] - to[0] * from[1])
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const SQUARE: [Point; 4] = [[10.0, -2.0], [14.0, -2.0], [14.0, 6.0], [10.0, 6.0]];

    #[test]
    fn a_straight_row_is_cut_by_its_outline() {
        let row = Row::within([12.0, 0.5], None, &SQUARE);
        assert_eq!(row.stretches, [Stretch::between(-2.0, 6.0)]);
        assert_eq!(row.plan_m(row.along_m(0.25)), [12.0, 0.0]);
        assert!(Row::within([14.5, 0.0], None, &SQUARE).stretches.is_empty());
    }

    #[test]
    fn an_arc_leaves_its_outline_where_geometry_says() {
        // Radius 12 about the origin leaves the square through y = −2 and y = 6.
        let row = Row::within([12.0, 0.0], Some(12.0), &SQUARE);
        let [stretch] = row.stretches[..] else {
            panic!("{:?}", row.stretches);
        };
        let angle = (6.0f64 / 12.0).asin() + (2.0f64 / 12.0).asin();
        assert_relative_eq!(stretch.length_m, 12.0 * angle, max_relative = 1e-12);
        let end = row.plan_m(row.along_m(1.0));
        assert_relative_eq!(end[1], 6.0, max_relative = 1e-12);
        assert_relative_eq!(end[0].hypot(end[1]), 12.0, max_relative = 1e-12);
    }

    #[test]
    fn a_full_ring_is_one_row_and_a_notch_makes_two_stretches() {
        let around = [[-9.0, -9.0], [9.0, -9.0], [9.0, 9.0], [-9.0, 9.0]];
        let ring = Row::within([5.0, 0.0], Some(5.0), &around);
        assert_relative_eq!(ring.length_m(), 10.0 * PI, max_relative = 1e-12);
        let notched = [
            [10.0, -4.0],
            [14.0, -4.0],
            [14.0, 4.0],
            [10.0, 4.0],
            [10.0, 1.0],
            [13.0, 0.0],
            [10.0, -1.0],
        ];
        let row = Row::within([11.5, 0.0], None, &notched);
        assert_eq!(row.stretches.len(), 2);
        assert_relative_eq!(row.length_m(), 7.0, max_relative = 1e-12);
        assert_relative_eq!(row.along_m(0.75), 2.25, max_relative = 1e-12);
    }
}
