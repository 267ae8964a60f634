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
pub(super) fn mixed(seats: &[Seat]) -> Vec<Seat> {
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
}
