//! Plane pieces of a surface, and whether a straight line goes through them.
//!
//! A facet with corners p₀ … p_n and unit normal n is met by the segment from a to b at
//! t = s_a / (s_a − s_b), s = n · (x − p₀), where s_a and s_b have opposite signs and the meeting
//! point lies inside the corners by the even–odd rule, seen along the axis that n is nearest to. A
//! segment that ends on the facet or lies in its plane does not go through it.

/// A point in the room, `[x, y, z]`.
pub type Place = [f64; 3];

/// A plane piece of a surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Facet {
    corners_m: Vec<Place>,
    normal: Place,
    /// The two axes that are left when it is seen along the third.
    seen: [usize; 2],
    /// The least and the greatest of its corners along them.
    extent_m: [[f64; 2]; 2],
}

/// a − b.
#[must_use]
pub(crate) fn minus(a: Place, b: Place) -> Place {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// a · b.
#[must_use]
pub(crate) fn dot(a: Place, b: Place) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// |a|.
#[must_use]
pub(crate) fn length(a: Place) -> f64 {
    dot(a, a).sqrt()
}

/// a + t (b − a).
#[must_use]
pub(crate) fn between(a: Place, b: Place, t: f64) -> Place {
    [0, 1, 2].map(|axis| a[axis] + t * (b[axis] - a[axis]))
}

/// The vector area of a polygon (Newell): normal to it, as long as its area is large.
#[must_use]
pub(crate) fn vector_area_m2(corners_m: &[Place]) -> Place {
    let Some(&origin) = corners_m.first() else {
        return [0.0; 3];
    };
    let mut sum = [0.0; 3];
    for pair in corners_m.windows(2) {
        let (a, b) = (minus(pair[0], origin), minus(pair[1], origin));
        sum[0] += (a[1] * b[2] - a[2] * b[1]) / 2.0;
        sum[1] += (a[2] * b[0] - a[0] * b[2]) / 2.0;
        sum[2] += (a[0] * b[1] - a[1] * b[0]) / 2.0;
    }
    sum
}

/// The sides of a closed outline, whatever its points are.
pub(crate) fn sides<P: Copy>(corners: &[P]) -> impl Iterator<Item = [P; 2]> + '_ {
    let next = corners.iter().cycle().skip(1);
    corners.iter().zip(next).map(|(&from, &to)| [from, to])
}

impl Facet {
    /// The plane polygon with these corners; none where they enclose no area.
    #[must_use]
    pub fn new(corners_m: Vec<Place>) -> Option<Self> {
        let area = vector_area_m2(&corners_m);
        let size = length(area);
        if !(size > 1e-12 && size.is_finite()) {
            return None;
        }
        let normal = area.map(|part| part / size);
        let along = (0..3).max_by(|&a, &b| normal[a].abs().total_cmp(&normal[b].abs()))?;
        Some(Self::seen(
            corners_m,
            normal,
            [[1, 2], [2, 0], [0, 1]][along],
        ))
    }

    fn seen(corners_m: Vec<Place>, normal: Place, seen: [usize; 2]) -> Self {
        let extent_m = seen.map(|axis| {
            let along = || corners_m.iter().map(|corner| corner[axis]);
            [
                along().fold(f64::INFINITY, f64::min),
                along().fold(f64::NEG_INFINITY, f64::max),
            ]
        });
        Self {
            corners_m,
            normal,
            seen,
            extent_m,
        }
    }

    /// Its corners, in order.
    #[must_use]
    pub fn corners_m(&self) -> &[Place] {
        &self.corners_m
    }

    /// Its sides, in order.
    pub fn sides(&self) -> impl Iterator<Item = [Place; 2]> + '_ {
        sides(&self.corners_m)
    }

    /// Unit vector square to it.
    #[must_use]
    pub fn normal(&self) -> Place {
        self.normal
    }

    /// Distance of a point from its plane, positive on the side of the normal.
    #[must_use]
    pub fn height_m(&self, point_m: Place) -> f64 {
        dot(self.normal, minus(point_m, self.corners_m[0]))
    }

    /// The share of the segment at which it goes through the facet; none where it does not.
    #[must_use]
    pub fn crossing(&self, from_m: Place, to_m: Place) -> Option<f64> {
        let (before, after) = (self.height_m(from_m), self.height_m(to_m));
        if before * after >= 0.0 {
            return None;
        }
        let share = before / (before - after);
        self.encloses(between(from_m, to_m, share)).then_some(share)
    }

    /// Whether a point of its plane lies inside it.
    #[must_use]
    pub fn encloses(&self, point_m: Place) -> bool {
        let [u, v] = self.seen;
        let (x, y) = (point_m[u], point_m[v]);
        let [[left, right], [low, high]] = self.extent_m;
        if x < left || x > right || y < low || y > high {
            return false;
        }
        let mut inside = false;
        for [from, to] in sides(&self.corners_m) {
            if (from[u] > x) != (to[u] > x) {
                let side = from[v] + (to[v] - from[v]) * (x - from[u]) / (to[u] - from[u]);
                inside ^= side > y;
            }
        }
        inside
    }

    /// The same facet, moved.
    #[must_use]
    pub(crate) fn raised(&self, by_m: f64) -> Self {
        let mut corners_m = self.corners_m.clone();
        for corner in &mut corners_m {
            corner[2] += by_m;
        }
        Self::seen(corners_m, self.normal, self.seen)
    }
}

/// The two sides of an outline on a plane that cross each other, if any do; sides that follow each
/// other may share their corner.
pub(crate) fn crossing_sides(outline: &[[f64; 2]]) -> Option<[usize; 2]> {
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    let all: Vec<[[f64; 2]; 2]> = sides(outline).collect();
    for (first, [a, b]) in all.iter().enumerate() {
        for (second, [c, d]) in all.iter().enumerate().skip(first + 1) {
            let across = |p, q, r, s| turn(p, q, r) * turn(p, q, s) < 0.0;
            if across(*a, *b, *c, *d) && across(*c, *d, *a, *b) {
                return Some([first, second]);
            }
        }
    }
    None
}

/// A polygon of the floor plan cut by the half plane that lies to the left of the way from `from`
/// to `to` (Sutherland and Hodgman, 1974); parts that come apart stay joined by a seam of no width.
pub(crate) fn cut_by(outline: &[[f64; 2]], from: [f64; 2], to: [f64; 2]) -> Vec<[f64; 2]> {
    let left =
        |p: [f64; 2]| (to[0] - from[0]) * (p[1] - from[1]) - (to[1] - from[1]) * (p[0] - from[0]);
    let mut kept = Vec::with_capacity(outline.len() + 2);
    for [a, b] in sides(outline) {
        let (at_a, at_b) = (left(a), left(b));
        if at_a >= 0.0 {
            kept.push(a);
        }
        if at_a * at_b < 0.0 {
            let t = at_a / (at_a - at_b);
            kept.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_segment_meets_a_notched_facet_only_where_there_is_some() {
        let notched = Facet::new(vec![
            [0.0, 0.0, 1.0],
            [4.0, 0.0, 1.0],
            [4.0, 4.0, 1.0],
            [2.0, 1.0, 1.0],
            [0.0, 4.0, 1.0],
        ])
        .unwrap();
        let down = |x: f64, y: f64| notched.crossing([x, y, 5.0], [x, y, 0.0]);
        assert_eq!(down(2.0, 0.5), Some(0.8));
        assert_eq!(down(2.0, 2.0), None);
        assert_eq!(notched.crossing([1.0, 0.5, 5.0], [1.0, 0.5, 1.0]), None);
        assert_eq!(notched.crossing([1.0, 0.5, 1.0], [3.0, 0.5, 1.0]), None);
    }

    #[test]
    fn corners_on_one_line_make_no_facet() {
        assert!(Facet::new(vec![[0.0; 3], [1.0; 3], [2.0; 3]]).is_none());
    }

    #[test]
    fn a_bow_tie_crosses_itself_and_a_square_does_not() {
        let square = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
        assert_eq!(crossing_sides(&square), None);
        let bow = [[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]];
        assert_eq!(crossing_sides(&bow), Some([0, 2]));
    }
}
