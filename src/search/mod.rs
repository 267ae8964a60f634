//! Which pins.
