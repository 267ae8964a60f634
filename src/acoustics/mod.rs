//! What the seats hear.
