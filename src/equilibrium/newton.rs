//! Newton's step of the coordinates that rest on no bound.
//!
//! Under a force T, or a spring of rate k, the curvature is V″ = (U + T L)″ + k L′L′ᵀ. At a held
//! length ℓ the free coordinates satisfy U′ + T L′ = 0 and L = ℓ. One coordinate p is led by the
//! length, dq_p = (dℓ − Σ L_i dq_i)/L_p, the others by Newton on the reduced curvature
//! R = Zᵀ(U + T L)″Z (null-space method; Nocedal & Wright, Numerical Optimization, 2nd ed., 16.2).
//! Where the curvature is not positive the balance does not last, and the eigenvector of its least
//! eigenvalue is the way in which the energy falls.

use super::tolerances::FLAT;
use super::{Hold, Landscape, Rest};
use nalgebra::{Cholesky, DMatrix, DVector, SymmetricEigen};

/// A change of the coordinates and the force on the length after it.
pub struct Step {
    /// By coordinate; 0 where it rests on a bound.
    pub change: Vec<f64>,
    /// T.
    pub force: f64,
}

/// Why no step could be taken.
pub enum NoStep {
    /// No free coordinate changes the length.
    NoLever,
    /// The curvature is not positive in this direction, at constant length where it is held.
    Unstable(Vec<f64>),
}

/// The step of the coordinates that `rests` leaves free, with `shift` added to the curvature's
/// diagonal. `force` is the one at hand where the length is held.
///
/// # Errors
/// As [`NoStep`].
pub fn step(
    place: &impl Landscape,
    rests: &[Rest],
    hold: Hold,
    force: f64,
    shift: f64,
) -> Result<Step, NoStep> {
    let free: Vec<usize> = (0..rests.len())
        .filter(|&index| rests[index] == Rest::Free)
        .collect();
    match hold {
        Hold::Force(force) => under_force(place, rests, free, force, 0.0, shift),
        Hold::Spring { rate, slack } => {
            let stretch = place.length() - slack;
            let rate = if stretch > 0.0 { rate } else { 0.0 };
            under_force(place, rests, free, rate * stretch.max(0.0), rate, shift)
        }
        Hold::Length(length) => at_length(place, rests, free, length, force, shift),
    }
}

fn under_force(
    place: &impl Landscape,
    rests: &[Rest],
    free: Vec<usize>,
    force: f64,
    rate: f64,
    shift: f64,
) -> Result<Step, NoStep> {
    let size = free.len();
    let entry = |row: usize, column: usize| {
        let (a, b) = (free[row], free[column]);
        let own = if row == column { shift } else { 0.0 };
        place.curvature(a, b, force) + rate * place.lever(a) * place.lever(b) + own
    };
    let slopes = free.iter().map(|&index| -slope(place, index, force));
    let rhs = DVector::from_iterator(size, slopes);
    let spread = |values: &DVector<f64>| spread(rests.len(), &free, values);
    match solve(entry, rhs) {
        Ok(change) => {
            let change = spread(&change);
            let pulled: f64 = (0..rests.len()).map(|i| place.lever(i) * change[i]).sum();
            Ok(Step {
                force: force + rate * pulled,
                change,
            })
        }
        Err(direction) => Err(NoStep::Unstable(spread(&direction))),
    }
}

fn at_length(
    place: &impl Landscape,
    rests: &[Rest],
    mut free: Vec<usize>,
    length: f64,
    force: f64,
    shift: f64,
) -> Result<Step, NoStep> {
    let lever = |index: usize| place.lever(index);
    let size_of = |&at: &usize| lever(free[at]).abs();
    let Some(at) = (0..free.len()).max_by(|a, b| size_of(a).total_cmp(&size_of(b))) else {
        return Err(NoStep::NoLever);
    };
    if lever(free[at]) == 0.0 {
        return Err(NoStep::NoLever);
    }
    let led = free.swap_remove(at);
    let size = free.len();
    let change = (length - place.length()) / lever(led);
    let curvature = |a: usize, b: usize| place.curvature(a, b, force);
    let led_curvature = curvature(led, led);
    // Lever over the led coordinate's, and curvature with it, of each free one.
    let beside: Vec<(f64, f64)> = free
        .iter()
        .map(|&index| (lever(index) / lever(led), curvature(led, index)))
        .collect();
    let entry = |row: usize, column: usize| {
        let ((ratio_a, led_a), (ratio_b, led_b)) = (beside[row], beside[column]);
        let own = if row == column { shift } else { 0.0 };
        curvature(free[row], free[column]) - ratio_a * led_b - ratio_b * led_a
            + ratio_a * ratio_b * led_curvature
            + own
    };
    let rhs = DVector::from_fn(size, |row, _| {
        let (ratio, with_led) = beside[row];
        let slope = place.slope(free[row]) - ratio * place.slope(led);
        -(slope + change * (with_led - ratio * led_curvature))
    });
    let spread = |others: &DVector<f64>, offset: f64| {
        let mut all = spread(rests.len(), &free, others);
        let moved = free.iter().zip(others.iter());
        let sum: f64 = moved.map(|(&index, change)| lever(index) * change).sum();
        all[led] = offset - sum / lever(led);
        all
    };
    match solve(entry, rhs) {
        Ok(others) => {
            let change = spread(&others, change);
            let bend: f64 = (0..rests.len())
                .filter(|&index| change[index] != 0.0)
                .map(|index| curvature(led, index) * change[index])
                .sum();
            Ok(Step {
                force: -(place.slope(led) + bend) / lever(led),
                change,
            })
        }
        Err(direction) => Err(NoStep::Unstable(spread(&direction, 0.0))),
    }
}

/// ∂(U + T L)/∂q.
pub(super) fn slope(place: &impl Landscape, index: usize, force: f64) -> f64 {
    place.slope(index) + force * place.lever(index)
}

fn spread(count: usize, free: &[usize], values: &DVector<f64>) -> Vec<f64> {
    let mut all = vec![0.0; count];
    for (&index, value) in free.iter().zip(values.iter()) {
        all[index] = *value;
    }
    all
}

/// The solution, or the direction of the least curvature where it is not positive.
fn solve(
    entry: impl Fn(usize, usize) -> f64,
    mut rhs: DVector<f64>,
) -> Result<DVector<f64>, DVector<f64>> {
    let size = rhs.len();
    if size == 0 {
        return Ok(rhs);
    }
    let least = FLAT * (0..size).fold(0.0, |most: f64, i| most.max(entry(i, i).abs()));
    // The factors read the lower triangle only.
    let lower = |row, column| {
        if row < column {
            0.0
        } else {
            entry(row, column)
        }
    };
    let positive = Cholesky::new(DMatrix::from_fn(size, size, lower)).filter(|factor| {
        factor
            .l_dirty()
            .diagonal()
            .iter()
            .all(|&root| root * root > least)
    });
    if let Some(factor) = positive {
        factor.solve_mut(&mut rhs);
        return Ok(rhs);
    }
    match SymmetricEigen::try_new(DMatrix::from_fn(size, size, &entry), f64::EPSILON, 1_000) {
        Some(eigen) => Err(eigen.eigenvectors.column(eigen.eigenvalues.imin()).into()),
        None => Err(DVector::zeros(rhs.len())),
    }
}
