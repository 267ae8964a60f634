//! What the seats hear: the direct sound of a hang, in free field.
//!
//! p(f, r) = Σ_s w_s(f) D_v D_h e^{−jkd} / d · 10^{−α(f) d / 20}
//!
//! | name | meaning |
//! |---|---|
//! | s | sub-element: a straight piece of a line element, short enough that r is in its far field |
//! | w_s | gain, delay, polarity and filter, shared out among the sub-elements of one element |
//! | D_v | sin x / x with x = (k h_s / 2) sin a, a the angle of r off the normal of the line |
//! | D_h | horizontal directivity of the cabinet ([`element`]) |
//! | d | distance from the middle of the sub-element |
//! | α | air absorption in dB/m ([`air`]) |
//!
//! An element at 0 dB gain gives |p|·d = 1 far away on its axis, so a level of 0 dB is that of
//! the element at 1 m. The time factor is e^{+jωt}. Wind and gradients of temperature bend sound;
//! they are left out, the air is the same everywhere.
//!
//! # For a search
//!
//! What stays the same for all candidates is built once: [`Lines`] from the bands and the air,
//! [`Receivers`] from the seats. A candidate is a [`Pose`](crate::pose::Pose);
//! [`Sources::of_cabinets`] lays out any range of its cabinets, and [`accumulate`] adds their
//! pressure to a [`Field`]. A field of the upper cabinets can so be kept, cloned and completed by
//! the lower ones that a splay turns:
//!
//! ```
//! # use hangarc::acoustics::{accumulate, bands, measures, Field, Lines, Parts, Receivers, Sources};
//! # use hangarc::model::{Air, Hang, Valid, Venue};
//! # use hangarc::pose::{Placement, Pose};
//! # fn example(hang: &Valid<Hang>, venue: &Valid<Venue>, upper: &Pose, turned: &Pose)
//! # -> hangarc::error::Result<f64> {
//! let air = Valid::new(Air::default())?;
//! let lines = Lines::of_bands(&bands::EVENNESS, 5, &air)?;
//! let seats = Receivers::of_seats(&venue.seats());
//! let parts = Parts::Each(4);
//! let place = Placement::default();
//!
//! let mut kept = Field::silent(&seats, &lines);
//! accumulate(&Sources::of_cabinets(hang, upper, place, 0..6, parts)?, &seats, &lines, &mut kept);
//!
//! let mut field = kept.clone();
//! accumulate(&Sources::of_cabinets(hang, turned, place, 6..12, parts)?, &seats, &lines, &mut field);
//! let evenness_db = measures::evenness_db(&field, &seats, &lines, None);
//! # Ok(evenness_db)
//! # }
//! ```
//!
//! `accumulate` is single-threaded, so that a search can give each thread a candidate; its result
//! depends on nothing but its arguments, bit for bit. [`Adding`] does the same a few receivers at a
//! time, for a search that gives up a candidate before all seats are known. [`Parts::Within`] finds
//! the sub-division for one pose; a search takes the largest over its range once
//! ([`cutting::parts_within`]) and keeps it with [`Parts::Each`], so that candidates are compared
//! alike.

pub mod air;
pub mod balloon;
pub mod bands;
pub mod cutting;
pub mod drive;
pub mod element;
pub mod field;
mod lines;
pub mod measures;
mod parts;
mod receivers;
pub mod rig;
pub mod rooms;
pub mod spectral;
pub mod summary;
pub mod unevenness;

pub use element::Sources;
pub use field::{Adding, AirLoss, Field, accumulate};
pub use lines::{Band, Lines};
pub use parts::Parts;
pub use receivers::Receivers;
pub use rig::{Placed, Rig, Signal};
pub use rooms::Room;
