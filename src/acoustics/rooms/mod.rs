//! What stands between a cabinet and a seat, and what of the sound bends round it.
//!
//! Floors and surfaces ([`Blocking`]) block straight lines. Round an edge sound bends as round that
//! of a thin half plane: the pressure of the free path is multiplied by
//!
//! F(ν) = (1 + j)/2 · ∫_ν^∞ e^{−jπt²/2} dt,  ν = ±2 √(δ/λ),
//!
//! δ the detour round the edge, + in the shadow and − where the path is free: 1 far from the edge in
//! the light, 1/2 (−6.02 dB) at grazing, 0 deep in the shadow. It is the part of Sommerfeld's exact
//! solution that belongs to the incident wave, for which the time factor is e^{+jωt} and the edge is
//! many wavelengths from one end at least (M. Born, E. Wolf, Principles of Optics, 7th ed., 8.7.3 and
//! 11.5; its limits for sound: H. Medwin, J. Acoust. Soc. Am. 69(4), 1981; all from memory). What a
//! surface reflects is left out, as all reflections are.
//!
//! | choice | why |
//! |---|---|
//! | Of a body's edges the one of least detour counts, of several bodies the one of greatest. | One number for a cabinet and a seat, and it never jumps: where a path sweeps over an edge both sides have δ = 0. A second edge in a row takes more than is calculated. |
//! | Where ends lie on the same side of the surface at an edge, more than `detour::ASIDE` off its plane as seen from it, the edge does nothing. | That surface is never between them: it is the floor below both, or the wall behind both. Towards the plane δ is divided by the square of a taper. |
//! | In the light F differs from 1 only for ν > −4, and less and less from −3 on (δ of 9/4 to 4 wavelengths, the eighth Fresnel zone). | Beyond, it ripples by less than 0.5 dB. |
//!
//! A cabinet is taken to stand at the middle of its front face, for all its elements.
//!
//! [`Blocking`]: crate::model::Blocking

mod detour;
mod fresnel;
mod reach;
mod shade;
mod sight;

pub use detour::Room;
pub(in crate::acoustics) use fresnel::{FRESNEL_F, FRESNEL_G, LIT_FULL};
pub use fresnel::{LIT_END, factor};
pub use reach::{Cast, Reach};
pub use shade::{Shade, Shaded};
pub use sight::{counted, seen, seen_count};
