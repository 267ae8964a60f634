//! How a search ended.

/// How a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// At least two runs, each on its own, ended within 0.01 dB of the best, and no
    /// single, pair, bend or block move betters it.
    Settled,
    /// No move betters the answer, but no second run came near it.
    Unsettled,
    /// The pins were given, and every tilt and height was looked at.
    Given,
    /// The best of the law's curves; nothing was searched for.
    ByLaw,
    /// Every candidate was looked at; none is better.
    Proved,
    /// The budget was used up first.
    BudgetSpent,
    /// Stopped from outside; the answer is the best so far.
    Interrupted,
    /// No candidate met every constraint; the answer is the nearest found.
    Infeasible,
}

impl Ended {
    /// The name used at the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Settled => "settled",
            Self::Unsettled => "unsettled",
            Self::Given => "given",
            Self::ByLaw => "by the law",
            Self::Proved => "proved",
            Self::BudgetSpent => "budget spent",
            Self::Interrupted => "interrupted",
            Self::Infeasible => "infeasible",
        }
    }
}
