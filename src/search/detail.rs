//! How finely a candidate is heard, and in which order its seats: in full, or as a sketch for the
//! many candidates on the way.

use crate::model::{Seat, Study};

/// What a field is calculated from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Detail {
    /// Frequencies in each third octave.
    pub lines_per_band: u32,
    /// Share of a sub-element's pressure that its far field may leave out.
    pub tolerance: f64,
    /// Seats, at the most.
    pub most_seats: usize,
    /// Whether sums in single precision will do: right to some hundredths of a decibel.
    pub single: bool,
}

impl Detail {
    /// All seats and all frequencies of the study.
    pub(super) fn full(study: &Study) -> Self {
        Self {
            lines_per_band: study.lines_per_band,
            tolerance: 0.01,
            most_seats: usize::MAX,
            single: false,
        }
    }

    /// Enough to tell a good hang from a poor one, at a fraction of the work.
    pub(super) fn sketch(study: &Study) -> Self {
        Self {
            lines_per_band: study.lines_per_band.min(2),
            tolerance: 0.1,
            most_seats: 80,
            single: true,
        }
    }

    /// Enough to tell which of two good hangs is better, at about a fifth of the work.
    pub(super) fn near(study: &Study) -> Self {
        Self {
            lines_per_band: study.lines_per_band.min(6),
            tolerance: 0.04,
            most_seats: usize::MAX,
            single: true,
        }
    }
}

/// One seat for each run of seats, with the weight of them all.
pub(super) fn thinned(seats: &[Seat], most: usize) -> Vec<Seat> {
    let run = seats.len().div_ceil(most.max(1)).max(1);
    seats
        .chunks(run)
        .enumerate()
        .map(|(index, seats)| {
            // Not always the same place of a run, lest all of a row's sides be left out.
            let place = (index * 5 + run / 2) % seats.len();
            Seat {
                weight: seats.iter().map(|seat| seat.weight).sum(),
                ..seats[place]
            }
        })
        .collect()
}

/// The same seats in an order of which every stretch has some from all over: it soon tells an uneven
/// hang.
pub(super) fn mixed<T: Copy>(seats: &[T]) -> Vec<T> {
    const STRETCH: usize = 8;
    let stretches = seats.len().div_ceil(STRETCH);
    (0..stretches)
        .flat_map(|first| seats.iter().skip(first).step_by(stretches))
        .copied()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::from_json;
    use crate::search::anneal::{Cooling, anneal};
    use crate::search::best_straight;
    use crate::search::evaluator::Evaluator;
    use crate::search::handle::Handle;
    use crate::search::problem::Problem;
    use crate::search::starts::starts;

    fn seat(x: usize) -> Seat {
        Seat {
            ear_m: [x as f64, 0.0, 1.2],
            weight: 1.0 + x as f64,
            area: 0,
            corner: 0.0,
        }
    }

    #[test]
    fn mixing_keeps_every_seat() {
        for count in [0, 1, 8, 43] {
            let seats: Vec<Seat> = (0..count).map(seat).collect();
            let mut mixed = mixed(&seats);
            mixed.sort_by(|a, b| a.ear_m[0].total_cmp(&b.ear_m[0]));
            assert_eq!(mixed, seats);
        }
    }

    #[test]
    fn thinning_keeps_the_weight_and_the_limit() {
        let seats: Vec<Seat> = (0..101).map(seat).collect();
        let total = |seats: &[Seat]| seats.iter().map(|seat| seat.weight).sum::<f64>();
        let few = thinned(&seats, 40);
        assert!(few.len() <= 40 && few.len() > 30);
        assert_eq!(total(&few), total(&seats));
        assert_eq!(thinned(&seats, 200), seats);
    }

    /// Objectives this far apart are told apart by a sketch; nearer ones by the near walks.
    const TOLD_APART_DB: f64 = 0.1;

    /// Spearman's rank correlation of two lists without ties.
    fn rank_correlation(one: &[f64], other: &[f64]) -> f64 {
        let rank = |list: &[f64], value: f64| list.iter().filter(|&&x| x < value).count() as f64;
        let pairs = one.iter().zip(other);
        let apart = pairs.map(|(&a, &b)| (rank(one, a) - rank(other, b)).powi(2));
        let count = one.len() as f64;
        1.0 - 6.0 * apart.sum::<f64>() / (count * (count * count - 1.0))
    }

    #[test]
    fn hangs_keep_their_ranks_from_round_to_round() {
        let text = include_str!("../../python/hangarc/demo/study.json");
        let study = from_json::<Study>(text).unwrap();
        let handle = Handle::default();
        let details = [
            Detail::sketch(&study),
            Detail::near(&study),
            Detail::full(&study),
        ];
        let problems = details.map(|detail| Problem::new(&study, detail).unwrap());
        let straight = best_straight(&problems[0], 50, &handle).unwrap();
        let starts = starts(&problems[0], &straight, 24, 7, 100, &handle).unwrap();
        let mut heard: [Vec<f64>; 3] = Default::default();
        for (number, start) in starts.into_iter().enumerate() {
            // From barely walked to well cooled: what the rounds have to tell apart.
            let cooling = Cooling {
                steps: 12.0 * number as f64,
                hot: 0.03,
                cold: 0.002,
            };
            let end = anneal(&problems[0], &handle, start, cooling, number as u64).unwrap();
            for (problem, heard) in problems.iter().zip(&mut heard) {
                let laid = problem.lay(end.candidate.clone());
                heard.push(Evaluator::new(problem).hear(&laid).unwrap().objective_db);
            }
        }
        let [sketch, near, full] = &heard;
        assert!(rank_correlation(near, full) > 0.99);
        let told_apart = |a: usize, b: usize| (sketch[a] < sketch[b]) == (full[a] < full[b]);
        let mut pairs = 0;
        for a in 0..full.len() {
            for b in 0..a {
                if (full[a] - full[b]).abs() > TOLD_APART_DB {
                    pairs += 1;
                    assert!(told_apart(a, b), "{a} {b}");
                }
            }
        }
        assert!(pairs > 50, "{pairs}");
    }
}
