//! How a search is run, watched and stopped.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Instant;

/// How a search is run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Chooses the random starts.
    pub seed: u64,
    /// Whether to enumerate every candidate instead of searching.
    pub prove: bool,
    /// The search makes no more evaluations than this.
    pub budget_evaluations: Option<u64>,
}

/// Lets a caller stop a search and see how far it is.
#[derive(Debug, Default)]
pub struct Handle {
    cancelled: Arc<AtomicBool>,
    evaluations: AtomicU64,
    deadline: Option<Instant>,
}

impl Handle {
    /// A handle that stops the search at `deadline`; what it finds by then depends on the machine.
    #[must_use]
    pub fn until(deadline: Option<Instant>) -> Self {
        Self {
            deadline,
            ..Self::default()
        }
    }

    /// A handle of its own count that stops when this one is cancelled.
    #[must_use]
    pub fn child(&self) -> Self {
        Self {
            cancelled: Arc::clone(&self.cancelled),
            ..Self::default()
        }
    }

    /// Asks the search to stop; it answers with the best so far.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    pub(super) fn cancelled(&self) -> bool {
        self.cancelled.load(Ordering::Relaxed)
    }

    pub(super) fn out_of_time(&self) -> bool {
        self.deadline.is_some_and(|end| Instant::now() >= end)
    }

    pub(super) fn must_stop(&self) -> bool {
        self.cancelled() || self.out_of_time()
    }

    pub(super) fn count(&self, evaluations: u64) {
        self.evaluations.fetch_add(evaluations, Ordering::Relaxed);
    }

    /// Evaluations made so far.
    #[must_use]
    pub fn evaluations(&self) -> u64 {
        self.evaluations.load(Ordering::Relaxed)
    }
}
