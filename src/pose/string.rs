//! The chain as a taut string behind the cabinets.
//!
//! The shortest way from the upper to the lower anchor that leaves every rear edge on its front
//! side: walking down, the string turns only towards the front, round edges it touches. One pass
//! over the edges in their order along the column with a stack (Graham's scan, 1972) finds it.

use super::plane::Vec2;

/// A point the string runs through and the body that carries it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Touch {
    pub body: usize,
    pub point_m: Vec2,
}

/// z component of a × b; positive when b turns left of a, which is frontwards walking down.
pub(crate) fn cross(a: Vec2, b: Vec2) -> f64 {
    a.x * b.y - a.y * b.x
}

/// Adds the next point to the string and drops edges it no longer touches.
pub(crate) fn stretch_to(string: &mut Vec<Touch>, next: Touch) {
    while let [.., before, last] = string.as_slice() {
        let turn = cross(last.point_m - before.point_m, next.point_m - last.point_m);
        if turn > 0.0 {
            break;
        }
        string.pop();
    }
    string.push(next);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stretch(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
        let mut string = Vec::new();
        for (body, &(x, z)) in points.iter().enumerate() {
            stretch_to(
                &mut string,
                Touch {
                    body,
                    point_m: Vec2::new(x, z),
                },
            );
        }
        string.iter().map(|t| (t.point_m.x, t.point_m.y)).collect()
    }

    #[test]
    fn a_string_clear_of_the_edges_is_straight() {
        let ends = [(-1.0, 0.0), (-1.0, -3.0)];
        assert_eq!(
            stretch(&[ends[0], (-0.5, -1.0), (-0.8, -2.0), ends[1]]),
            ends
        );
    }

    #[test]
    fn an_edge_behind_the_line_is_touched() {
        let way = [(-1.0, 0.0), (-1.2, -1.0), (-1.0, -3.0)];
        assert_eq!(stretch(&way), way);
        assert_eq!(
            stretch(&[way[0], way[1], (-1.0, -2.0), way[2]]),
            way,
            "an edge in front of the string round another is not touched"
        );
    }
}
