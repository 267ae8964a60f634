//! What can happen on the way from free to closed, and how the way ends.

/// How a closing path ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PathEnd {
    /// Every joint is on its stop.
    Closed,
    /// Joints are open that no chain force moves any further.
    Jammed,
    /// The chain is shorter than the closed hang needs, and joints are open.
    Overshot,
    /// The taut chain's length jumps with the next turn of the joints: the hang curls so far that a
    /// rear edge slips past the chain's end.
    ChainSlips,
    /// The hang loses its balance and the descent finds no rest at that length.
    NoRestFound,
    /// The hang changed contacts more often than the budget allows.
    BudgetSpent,
}

impl PathEnd {
    /// One plain word for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Closed => "closed",
            Self::Jammed => "jammed",
            Self::Overshot => "overshot",
            Self::ChainSlips => "chain slips off an edge",
            Self::NoRestFound => "no rest found",
            Self::BudgetSpent => "budget spent",
        }
    }
}

/// What a joint does at a contact event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contact {
    /// Rests on its stop in the free hang, with no force in the chain.
    OnStopWhenFree,
    /// Leaves its open limit.
    LeavesOpenLimit,
    /// Comes back to its open limit.
    ReturnsToOpenLimit,
    /// Arrives at its stop for the first time.
    ArrivesAtStop,
    /// Leaves its stop.
    LeavesStop,
    /// Comes back to its stop.
    ReturnsToStop,
}

impl Contact {
    /// Plain words for files and the Python face.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::OnStopWhenFree => "on stop when free",
            Self::LeavesOpenLimit => "leaves open limit",
            Self::ReturnsToOpenLimit => "returns to open limit",
            Self::ArrivesAtStop => "arrives at stop",
            Self::LeavesStop => "leaves stop",
            Self::ReturnsToStop => "returns to stop",
        }
    }
}

/// One joint meeting or leaving a bound.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ContactEvent {
    /// The joint's number in the hang.
    pub joint: usize,
    /// What it does.
    pub contact: Contact,
    /// Chain length then.
    pub chain_m: f64,
    /// Chain force then.
    pub force_n: f64,
    /// Whether it is part of a snap.
    pub in_snap: bool,
}

/// A sudden change of angles at one chain length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Snap {
    /// Chain length.
    pub chain_m: f64,
    /// Chain force before.
    pub force_before_n: f64,
    /// Chain force after.
    pub force_after_n: f64,
    /// Greatest change of a joint's angle.
    pub greatest_turn_rad: f64,
    /// Gravity energy set free.
    pub energy_j: f64,
}
