//! A value between the points of a rising grid, by the polynomial through the nearest of them.
//!
//! Lagrange's form through six points, three on each side; through the four next to its end where the
//! grid ends, and through two where steps differ so much that a higher polynomial would swing.

/// Points at the most.
const MOST: usize = 6;

/// Points near an end of the grid.
const FEWER: usize = 4;

/// The largest step of a polynomial's points over the smallest.
const MOST_UNEVEN: f64 = 3.0;

/// Which points of a grid make up a value, and with which weights.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stencil {
    pub start: usize,
    pub count: usize,
    pub weight: [f64; MOST],
}

impl Stencil {
    /// At `value`; beyond the ends, the end itself.
    pub(super) fn of(grid: &[f64], value: f64) -> Self {
        let upper = grid.partition_point(|&at| at <= value);
        if upper == 0 || upper == grid.len() || grid[upper - 1] == value {
            return Self::one(upper.saturating_sub(1));
        }
        let (half, count) = (MOST / 2, grid.len());
        if upper >= half && upper + half <= count && even(&grid[upper - half..upper + half]) {
            return Self::through(grid, upper - half, MOST, value);
        }
        if count >= FEWER {
            let start = upper.saturating_sub(FEWER / 2).min(count - FEWER);
            if even(&grid[start..start + FEWER]) {
                return Self::through(grid, start, FEWER, value);
            }
        }
        Self::through(grid, upper - 1, 2, value)
    }

    fn one(start: usize) -> Self {
        let mut weight = [0.0; MOST];
        weight[0] = 1.0;
        Self {
            start,
            count: 1,
            weight,
        }
    }

    fn through(grid: &[f64], start: usize, count: usize, value: f64) -> Self {
        let points = &grid[start..start + count];
        let mut weight = [0.0; MOST];
        for (index, (weight, point)) in weight.iter_mut().zip(points).enumerate() {
            let others = points
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != index);
            *weight = others
                .map(|(_, other)| (value - other) / (point - other))
                .product();
        }
        Self {
            start,
            count,
            weight,
        }
    }

    /// The value, from those at the grid's points.
    pub(super) fn sum(&self, at: impl Fn(usize) -> f64) -> f64 {
        (0..self.count)
            .map(|index| self.weight[index] * at(self.start + index))
            .sum()
    }

    /// Points and weights.
    pub(super) fn points(&self) -> impl Iterator<Item = (usize, f64)> {
        (0..self.count).map(|index| (self.start + index, self.weight[index]))
    }
}

fn even(points: &[f64]) -> bool {
    let steps = points.windows(2).map(|pair| pair[1] - pair[0]);
    let least = steps.clone().fold(f64::INFINITY, f64::min);
    steps.fold(0.0, f64::max) <= MOST_UNEVEN * least
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_up_to_the_fifth_degree_come_back() {
        let grid = [0.0, 1.0, 2.1, 3.0, 4.2, 5.0, 6.0];
        let law = |x: f64| 3.0 - x + 0.1 * x.powi(5);
        let at = |x: f64| Stencil::of(&grid, x).sum(|index| law(grid[index]));
        assert!((at(2.7) - law(2.7)).abs() < 1e-12);
        assert!((at(3.9) - law(3.9)).abs() < 1e-12);
        assert_eq!(at(3.0), law(3.0));
        assert_eq!([at(-1.0), at(7.0)], [law(0.0), law(6.0)]);
    }

    #[test]
    fn uneven_steps_are_bridged_by_straight_lines() {
        let stencil = Stencil::of(&[0.0, 1.0, 100.0, 101.0], 50.5);
        assert_eq!((stencil.start, stencil.count), (1, 2));
        assert!((stencil.weight[0] - 0.5).abs() < 1e-15);
    }
}
