//! What hangs on what.
