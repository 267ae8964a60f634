//! Which cabinet sees which seat: nothing is in the way from the middle of its front to the ears.

use super::Room;
use crate::error::{InputError, Result};
use crate::model::{HiddenSeats, Place, Seat, Venue};

/// Seat by seat, whether each cabinet sees it.
#[must_use]
pub fn seen(room: &Room, fronts_m: &[Place], seats: &[Seat]) -> Vec<bool> {
    seats
        .iter()
        .flat_map(|seat| {
            let sight = |&front_m: &Place| room.blocking().sees(front_m, seat.ear_m);
            fronts_m.iter().map(sight)
        })
        .collect()
}

/// The number of cabinets that see each seat.
#[must_use]
pub fn seen_count(room: &Room, fronts_m: &[Place], seats: &[Seat]) -> Vec<usize> {
    let seen = seen(room, fronts_m, seats);
    seen.chunks(fronts_m.len().max(1))
        .map(|of_seat| of_seat.iter().filter(|&&sees| sees).count())
        .collect()
}

/// The seats with the weight that they have in measures: none where no cabinet sees them and the
/// venue leaves such seats out.
///
/// # Errors
/// No seat of any weight is left.
pub fn counted(venue: &Venue, seats: &[Seat], seen_count: &[usize]) -> Result<Vec<Seat>> {
    let mut counted = seats.to_vec();
    if venue.hidden_seats == HiddenSeats::LeaveOut {
        for (seat, &seen) in counted.iter_mut().zip(seen_count) {
            if seen == 0 {
                seat.weight = 0.0;
            }
        }
        if counted.iter().all(|seat| seat.weight == 0.0) {
            return Err(InputError::new(
                "venue.hidden_seats",
                "leave out",
                "keep, as no cabinet sees any seat",
            ));
        }
    }
    Ok(counted)
}
