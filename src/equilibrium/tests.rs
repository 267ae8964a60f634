use super::minimum::{RestEnd, Settling};
use super::non_negative::{Programme, Work};
use super::tolerances::AT_REST;
use super::*;
use nalgebra::{DMatrix, DVector, Vector3};
use proptest::prelude::*;

/// U = ½ qᵀ A q − bᵀ q + ¼ c Σ q⁴ within bounds, L = |(q − a, 1)| from a place a off the way.
#[derive(Clone, Debug)]
struct Bowl {
    a: DMatrix<f64>,
    b: DVector<f64>,
    quartic: f64,
    from: DVector<f64>,
    bounds: Vec<[f64; 2]>,
}

#[derive(Clone, Debug)]
struct Place {
    q: Vec<f64>,
    bowl: Bowl,
    slope: DVector<f64>,
    lever: DVector<f64>,
    length: f64,
}

impl Place {
    fn at(bowl: &Bowl, q: Vec<f64>) -> Self {
        let zero = DVector::zeros(q.len());
        let mut place = Self {
            q,
            bowl: bowl.clone(),
            slope: zero.clone(),
            lever: zero,
            length: 0.0,
        };
        bowl.update(&mut place);
        place
    }
}

impl Landscape for Place {
    fn position(&self) -> &[f64] {
        &self.q
    }
    fn position_mut(&mut self) -> &mut [f64] {
        &mut self.q
    }
    fn energy(&self) -> f64 {
        let q = DVector::from_column_slice(&self.q);
        let fourth: f64 = self.q.iter().map(|value| value.powi(4)).sum();
        0.5 * q.dot(&(&self.bowl.a * &q)) - self.bowl.b.dot(&q) + 0.25 * self.bowl.quartic * fourth
    }
    fn slope(&self, index: usize) -> f64 {
        self.slope[index]
    }
    fn length(&self) -> f64 {
        self.length
    }
    fn lever(&self, index: usize) -> f64 {
        self.lever[index]
    }
    fn curvature(&self, a: usize, b: usize, force: f64) -> f64 {
        let own = if a == b { 1.0 } else { 0.0 };
        let bend = (own - self.lever[a] * self.lever[b]) / self.length;
        self.bowl.a[(a, b)] + own * 3.0 * self.bowl.quartic * self.q[a].powi(2) + force * bend
    }
}

impl System for Bowl {
    type Place = Place;
    fn bounds(&self, index: usize) -> [f64; 2] {
        self.bounds[index]
    }
    fn update(&self, place: &mut Place) {
        let q = DVector::from_column_slice(&place.q);
        place.slope = &self.a * &q - &self.b + q.map(|value| self.quartic * value.powi(3));
        let way = q - &self.from;
        place.length = (way.norm_squared() + 1.0).sqrt();
        place.lever = way / place.length;
    }
    fn length_scale(&self) -> f64 {
        1.0
    }
    fn energy_scale(&self) -> f64 {
        self.b.amax().max(self.a.amax())
    }
}

/// Bowls of two to eight coordinates; with `least` below zero some have two hollows.
fn any_bowl(least: f64) -> impl Strategy<Value = Bowl> {
    (2usize..9).prop_flat_map(move |count| {
        let entries = prop::collection::vec(-1.0..1.0f64, count * count);
        let diagonal = prop::collection::vec(least..2.0, count);
        let sides = prop::collection::vec(
            (-1.0..0.2f64, 0.0..1.0f64, -4.0..4.0f64, -2.0..2.0f64),
            count,
        );
        (entries, diagonal, sides).prop_map(move |(entries, diagonal, sides)| {
            let root = DMatrix::from_vec(count, count, entries) * 0.7;
            let a = &root * root.transpose() + DMatrix::from_diagonal(&DVector::from_vec(diagonal));
            Bowl {
                a,
                b: DVector::from_iterator(count, sides.iter().map(|side| side.2)),
                quartic: 1.0,
                from: DVector::from_iterator(count, sides.iter().map(|side| side.3)),
                bounds: sides
                    .iter()
                    .map(|&(low, way, ..)| [low, low + way])
                    .collect(),
            }
        })
    })
}

/// Settles from the lower bounds and holds what is called at rest to its conditions, worked out anew.
fn settle(bowl: &Bowl, hold: Hold) -> (RestEnd, Place, f64) {
    let start: Vec<f64> = bowl.bounds.iter().map(|bound| bound[0]).collect();
    let rests = rests_at(bowl, &start);
    let mut settling = Settling::new(bowl, Place::at(bowl, start), rests, 0.0);
    let end = settling.settle(hold);
    let force = settling.force;
    let place = Place::at(bowl, settling.place.q.clone());
    if end == RestEnd::AtRest {
        let allowed = AT_REST * bowl.energy_scale();
        for (index, &[low, high]) in bowl.bounds.iter().enumerate() {
            let value = place.q[index];
            assert!(value >= low && value <= high);
            let slope = place.slope[index] + force * place.lever[index];
            if low < high && value < high {
                assert!(slope > -allowed, "rises upwards: {slope}");
            }
            if low < high && value > low {
                assert!(slope < allowed, "rises downwards: {slope}");
            }
        }
    }
    (end, place, force)
}

proptest! {
    #[test]
    fn what_is_called_at_rest_is_at_rest_under_a_force(bowl in any_bowl(0.1), force in 0.0..3.0f64) {
        let (end, ..) = settle(&bowl, Hold::Force(force));
        prop_assert_eq!(end, RestEnd::AtRest);
    }

    /// Where the energy has several hollows as well.
    #[test]
    fn what_is_called_at_rest_is_at_rest_in_any_hollow(bowl in any_bowl(-3.0), force in 0.0..3.0f64) {
        let (end, ..) = settle(&bowl, Hold::Force(force));
        prop_assert_eq!(end, RestEnd::AtRest);
    }

    #[test]
    fn a_spring_rests_where_its_force_would(bowl in any_bowl(0.1), rate in 0.1..1e4f64, slack in 0.5..2.0f64) {
        let (end, place, force) = settle(&bowl, Hold::Spring { rate, slack });
        prop_assert_eq!(end, RestEnd::AtRest);
        let pulled = rate * (place.length - slack).max(0.0);
        prop_assert!((force - pulled).abs() <= 1e-9 * bowl.energy_scale());
        let (_, other, _) = settle(&bowl, Hold::Force(force));
        for (a, b) in place.q.iter().zip(&other.q) {
            prop_assert!((a - b).abs() < 1e-7);
        }
    }

    /// The length at rest under a force, held, comes to the same rest and gives the force back.
    #[test]
    fn a_held_length_rests_where_its_force_would(bowl in any_bowl(0.1), force in 0.1..3.0f64) {
        let (_, place, _) = settle(&bowl, Hold::Force(force));
        let free = |index: usize| {
            let [low, high] = bowl.bounds[index];
            place.q[index] > low + 1e-3 && place.q[index] < high - 1e-3 && place.lever[index].abs() > 0.05
        };
        prop_assume!((0..place.q.len()).any(free));
        let rests = rests_at(&bowl, &place.q);
        let mut settling = Settling::new(&bowl, place.clone(), rests, 0.0);
        prop_assert_eq!(settling.settle(Hold::Length(place.length)), RestEnd::AtRest);
        prop_assert!((settling.force - force).abs() < 1e-6, "{} {}", settling.force, force);
    }

    /// Balance, no push, and no gap that would close: the conditions of the programme.
    #[test]
    fn shares_balance_and_none_pushes(
        places in prop::collection::vec((-1.0..1.0f64, -1.0..1.0f64, 0.2..5.0f64, -0.5..0.5f64), 3..9),
        weights in prop::collection::vec(0.01..1.0f64, 9),
    ) {
        let rows: Vec<Vector3<f64>> = places.iter().map(|p| Vector3::new(1.0, p.0, p.1)).collect();
        let rates: Vec<f64> = places.iter().map(|p| p.2).collect();
        let offsets: Vec<f64> = places.iter().map(|p| p.3).collect();
        // Inside the hull.
        let total: f64 = weights[..rows.len()].iter().sum();
        let balance: Vector3<f64> = rows.iter().zip(&weights).map(|(row, w)| row * (w / total)).sum();
        let programme = Programme { rows: &rows, flat: [false; 2], rates: &rates, offsets: &offsets };
        let mut work = Work::default();
        prop_assert!(programme.solve(&balance, 1.0, &mut work));
        let sum: Vector3<f64> = rows.iter().zip(&work.pull).map(|(row, pull)| row * *pull).sum();
        prop_assert!((sum - balance).norm() < 1e-9);
        // The body's plane, from the supports that pull, must lie below the slack ones' ends.
        let pulling: Vec<usize> = (0..rows.len()).filter(|&i| work.pull[i] > 0.0).collect();
        let stretch = |i: usize| work.pull[i] / rates[i] - offsets[i];
        let table = DMatrix::from_fn(pulling.len(), 3, |row, axis| rows[pulling[row]][axis]);
        let ends = DVector::from_iterator(pulling.len(), pulling.iter().map(|&i| stretch(i)));
        let plane = table.clone().svd(true, true).solve(&ends, 1e-12).unwrap();
        if pulling.len() > 2 && table.svd(false, false).singular_values.min() > 1e-3 {
            for (i, row) in rows.iter().enumerate() {
                let gap = row.dot(&Vector3::new(plane[0], plane[1], plane[2])) - stretch(i);
                if work.pull[i] == 0.0 {
                    prop_assert!(gap < 1e-7, "support {i} would pull: {gap}");
                } else {
                    prop_assert!(gap.abs() < 1e-7);
                }
            }
        }
    }
}

#[test]
fn a_slope_without_an_end_is_no_rest() {
    let bowl = Bowl {
        a: DMatrix::zeros(1, 1),
        b: DVector::from_element(1, 1.0),
        quartic: 0.0,
        from: DVector::zeros(1),
        bounds: vec![[0.0, f64::INFINITY]],
    };
    let (end, ..) = settle(&bowl, Hold::Force(0.0));
    assert_ne!(end, RestEnd::AtRest);
}
