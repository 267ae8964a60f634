//! How much of each stated limit is used, and in which state of the hang?
//!
//! utilisation = demand / limit. A limit that nobody stated stays `None`; it is never a pass.
//!
//! Starting and stopping hoists accelerate what hangs: all weights count φ times, φ the dynamic
//! factor. What balance alone asks of a part grows with it; a force that is locked in does not
//! ([`FactorUse`]).

use super::balance::HoistLoads;
use super::joints::JointLoads;
use crate::error::{Result, non_negative, positive, within_range};
use crate::model::{CabinetLimits, Hang, Study};

/// A part that can have a stated limit, with the kind of demand on it. Picks, hoists, roof points,
/// supports and spans count from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Everything hung, on the fly frame.
    FlyFrame,
    /// One pick of the fly frame.
    Pick(usize),
    /// One hoist.
    Hoist(usize),
    /// One roof point.
    RoofPoint(usize),
    /// The closing chain.
    ClosingChain,
    /// The lever hoist.
    LeverHoist,
    /// The closing chain's anchor on the fly frame.
    UpperAnchor,
    /// The closing chain's anchor on the bottom frame.
    LowerAnchor,
    /// Front hinge of a joint.
    Hinge(usize),
    /// Rear link of a joint, pulling.
    RearLink(usize),
    /// Rear link or stop of a joint, pressing.
    Stop(usize),
    /// A joint's hinge, rear link or stop, or the closing chain, on one side.
    OneSide(Side, SidePart),
    /// The line that pulls the bottom back.
    PullBackLine,
    /// Bending moment of a beam.
    BeamMoment,
    /// Shear of a beam.
    BeamShear,
    /// Deflection of a beam.
    BeamDeflection,
    /// One support of a beam.
    BeamSupport(usize),
    /// Load per metre of one span of a beam.
    SpanUniform(usize),
    /// Point loads of one span of a beam.
    SpanPoint(usize),
}

impl Part {
    /// Unit of demand and limit.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::BeamMoment => "N m",
            Self::BeamDeflection => "m",
            Self::SpanUniform(_) => "N/m",
            _ => "N",
        }
    }

    /// The kind of part as data, and which one of its kind where there are several.
    #[must_use]
    pub fn kind(self) -> (&'static str, Option<usize>) {
        match self {
            Self::FlyFrame => ("fly_frame", None),
            Self::Pick(index) => ("pick", Some(index)),
            Self::Hoist(index) => ("hoist", Some(index)),
            Self::RoofPoint(index) => ("roof_point", Some(index)),
            Self::ClosingChain => ("closing_chain", None),
            Self::LeverHoist => ("lever_hoist", None),
            Self::UpperAnchor => ("upper_anchor", None),
            Self::LowerAnchor => ("lower_anchor", None),
            Self::Hinge(joint) => ("hinge", Some(joint)),
            Self::RearLink(joint) => ("rear_link", Some(joint)),
            Self::Stop(joint) => ("stop", Some(joint)),
            Self::OneSide(side, part) => part.kind(side),
            Self::PullBackLine => ("pull_back_line", None),
            Self::BeamMoment => ("beam_moment", None),
            Self::BeamShear => ("beam_shear", None),
            Self::BeamDeflection => ("beam_deflection", None),
            Self::BeamSupport(index) => ("beam_support", Some(index)),
            Self::SpanUniform(index) => ("span_uniform", Some(index)),
            Self::SpanPoint(index) => ("span_point", Some(index)),
        }
    }
}

/// A side of the hang, seen from behind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// y > 0.
    Left,
    /// y < 0.
    Right,
}

/// A part there is one of on each side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SidePart {
    /// Front hinge of a joint.
    Hinge(usize),
    /// Rear link of a joint, pulling.
    RearLink(usize),
    /// Rear link or stop of a joint, pressing.
    Stop(usize),
    /// A closing chain.
    Chain,
}

impl SidePart {
    fn kind(self, side: Side) -> (&'static str, Option<usize>) {
        let names = |left, right| match side {
            Side::Left => left,
            Side::Right => right,
        };
        match self {
            Self::Hinge(joint) => (names("left_hinge", "right_hinge"), Some(joint)),
            Self::RearLink(joint) => (names("left_rear_link", "right_rear_link"), Some(joint)),
            Self::Stop(joint) => (names("left_stop", "right_stop"), Some(joint)),
            Self::Chain => (names("left_closing_chain", "right_closing_chain"), None),
        }
    }
}

/// A state of the hang in which its parts are loaded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Case {
    /// Hanging on its hoists, which start and stop.
    Hanging,
    /// Part of the hang, or all of it with its rear open, while it is built.
    Building,
    /// A compression hang with its rear open and no force in the chain, hoists starting and stopping.
    Open,
    /// On the way from open to closed, hoists standing.
    Closing,
    /// Still open, the chain pulled until the slip clutch gives way at its upper edge.
    ClutchSlips,
    /// Closed, at the closing force.
    Closed,
    /// Closed, at the closing force and the preload.
    Preloaded,
    /// Closed, the chain pulled until the slip clutch gives way at its upper edge.
    ClutchAtUpperEdge,
    /// Closed at the closing force, hoists starting and stopping.
    ClosedLifted,
    /// Closed and preloaded, hoists starting and stopping.
    PreloadedLifted,
    /// Closed with the chain at the clutch's upper edge, hoists starting and stopping.
    ClutchAtUpperEdgeLifted,
    /// Held by its hoists and a line on its bottom.
    PulledBack,
    /// At rest in a steady wind.
    InWind,
    /// One hoist out of step with the other.
    HoistOutOfStep,
    /// One hoist of two has failed, the hang at rest on the other.
    HoistFailed,
    /// On lines that stretch or lead off plumb.
    OnLines,
    /// Left and right unlike.
    SidesUnlike,
    /// A beam under its loads.
    BeamLoaded,
}

impl Case {
    /// The state as data.
    #[must_use]
    pub fn kind(self) -> &'static str {
        match self {
            Self::Hanging => "hanging",
            Self::Building => "building",
            Self::Open => "open",
            Self::Closing => "closing",
            Self::ClutchSlips => "clutch_slips",
            Self::Closed => "closed",
            Self::Preloaded => "preloaded",
            Self::ClutchAtUpperEdge => "clutch_at_upper_edge",
            Self::ClosedLifted => "closed_lifted",
            Self::PreloadedLifted => "preloaded_lifted",
            Self::ClutchAtUpperEdgeLifted => "clutch_at_upper_edge_lifted",
            Self::PulledBack => "pulled_back",
            Self::InWind => "in_wind",
            Self::HoistOutOfStep => "hoist_out_of_step",
            Self::HoistFailed => "hoist_failed",
            Self::OnLines => "on_lines",
            Self::SidesUnlike => "sides_unlike",
            Self::BeamLoaded => "beam_loaded",
        }
    }
}

/// Whether the dynamic factor is in a demand, and if not, why.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FactorUse {
    /// The weights behind the demand count this many times.
    Applied(f64),
    /// The hoists stand still while the chain is pulled.
    HoistsStand,
    /// The chain is locked at a length: while every stop presses, more weight takes pressure off
    /// the stops and leaves the chain's force as it was.
    ChainLocked,
    /// The calculation asks for none.
    NotAsked,
}

impl FactorUse {
    /// Why the factor is left out, as data; `applied` where it is not.
    #[must_use]
    pub fn kind(self) -> &'static str {
        match self {
            Self::Applied(_) => "applied",
            Self::HoistsStand => "hoists_stand",
            Self::ChainLocked => "chain_locked",
            Self::NotAsked => "not_asked",
        }
    }

    /// The factor contained in the demand.
    #[must_use]
    pub fn factor(self) -> f64 {
        match self {
            Self::Applied(factor) => factor,
            _ => 1.0,
        }
    }
}

/// One part, the greatest demand on it, and the limit stated for it, both in the part's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitRow {
    /// The part and the kind of demand.
    pub part: Part,
    /// The greatest demand over all cases.
    pub demand: f64,
    /// The stated limit.
    pub limit: Option<f64>,
    /// The case that gives the greatest demand.
    pub case: Case,
    /// Whether the dynamic factor is in that demand.
    pub factor: FactorUse,
}

impl LimitRow {
    /// Demand over limit, where a limit is stated.
    #[must_use]
    pub fn utilisation(&self) -> Option<f64> {
        self.limit.map(|limit| self.demand / limit)
    }
}

/// The parts in the order they were first added.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LimitTable {
    /// One row per part.
    pub rows: Vec<LimitRow>,
}

/// What the hoists and roof points are held against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lifting {
    /// Working load limit of each hoist.
    pub hoist_limit_n: Option<f64>,
    /// Limit of each roof point.
    pub roof_point_limit_n: Option<f64>,
    /// Mass of each hoist with its chain.
    pub hoist_mass_kg: f64,
    /// Factor for starting and stopping.
    pub dynamic_factor: f64,
}

impl Default for Lifting {
    fn default() -> Self {
        Self {
            hoist_limit_n: None,
            roof_point_limit_n: None,
            hoist_mass_kg: 0.0,
            dynamic_factor: 1.0,
        }
    }
}

impl Lifting {
    /// # Errors
    /// A limit not above zero, a mass below it, or a factor beyond 1 … 5.
    pub fn check(&self) -> Result<()> {
        for (field, limit_n) in [
            ("hoist_limit_n", self.hoist_limit_n),
            ("roof_point_limit_n", self.roof_point_limit_n),
        ] {
            if let Some(limit_n) = limit_n {
                positive(field, limit_n)?;
            }
        }
        non_negative("hoist_mass_kg", self.hoist_mass_kg)?;
        within_range("dynamic_factor", self.dynamic_factor, 1.0, 5.0).map(drop)
    }

    /// What a study states.
    #[must_use]
    pub fn of(study: &Study) -> Self {
        Self {
            hoist_limit_n: study.hoist_limit_n,
            roof_point_limit_n: study.roof_point_limit_n,
            hoist_mass_kg: study.hoist_mass_kg,
            dynamic_factor: study.dynamic_factor,
        }
    }
}

impl LimitTable {
    /// Adds a demand on a part, keeping the greater where the part already has one.
    pub fn add(
        &mut self,
        part: Part,
        demand: f64,
        limit: Option<f64>,
        case: Case,
        factor: FactorUse,
    ) {
        let row = LimitRow {
            part,
            demand,
            limit,
            case,
            factor,
        };
        match self.rows.iter_mut().find(|row| row.part == part) {
            Some(known) if known.demand >= demand => {}
            Some(known) => *known = row,
            None => self.rows.push(row),
        }
    }

    /// The same demands in another case.
    #[must_use]
    pub fn in_case(mut self, case: Case, factor: FactorUse) -> Self {
        for row in &mut self.rows {
            (row.case, row.factor) = (case, factor);
        }
        self
    }

    /// Adds every row of another table.
    pub fn merge(&mut self, other: &Self) {
        for row in &other.rows {
            self.add(row.part, row.demand, row.limit, row.case, row.factor);
        }
    }

    /// The greatest utilisation of all stated limits.
    #[must_use]
    pub fn greatest_utilisation(&self) -> Option<f64> {
        self.rows
            .iter()
            .filter_map(LimitRow::utilisation)
            .reduce(f64::max)
    }

    /// Adds everything above the first joint: frame, picks, hoists, roof points.
    pub fn add_lifting(
        &mut self,
        hang: &Hang,
        weight_n: f64,
        loads: &HoistLoads,
        lifting: &Lifting,
    ) {
        let frame = &hang.frame.limits;
        let mut add = |part, rest_n: f64, limit_n| {
            let factor = lifting.dynamic_factor;
            let applied = FactorUse::Applied(factor);
            self.add(part, rest_n * factor, limit_n, Case::Hanging, applied);
        };
        add(Part::FlyFrame, weight_n, frame.total_n);
        let hoist_weight_n = lifting.hoist_mass_kg * hang.gravity_m_s2;
        for (index, &load_n) in loads.load_n.iter().enumerate() {
            let roof_n = load_n + hoist_weight_n;
            add(Part::Pick(index), load_n, frame.pick_n);
            add(Part::Hoist(index), load_n, lifting.hoist_limit_n);
            add(Part::RoofPoint(index), roof_n, lifting.roof_point_limit_n);
        }
    }

    /// Adds hinge and rear link or stop of every joint of a hang at rest, held by balance alone.
    pub fn add_joints(&mut self, hang: &Hang, loads: &JointLoads, dynamic_factor: f64) {
        let hinges = loads.hinge_force_n.iter();
        for (joint, (hinge, &link_n)) in hinges.zip(&loads.rear_link_n).enumerate() {
            let limits = joint_limits(hang, joint);
            let (rear, limit_n) = if link_n >= 0.0 {
                (Part::RearLink(joint), limits.rear_link_n)
            } else {
                (Part::Stop(joint), limits.stop_n)
            };
            let applied = FactorUse::Applied(dynamic_factor);
            for (part, rest_n, limit_n) in [
                (Part::Hinge(joint), hinge.norm(), limits.hinge_n),
                (rear, link_n.abs(), limit_n),
            ] {
                let demand_n = rest_n * dynamic_factor;
                self.add(part, demand_n, limit_n, Case::Hanging, applied);
            }
        }
    }
}

/// Stated limits of a joint. They belong to the body above it.
pub(crate) fn joint_limits(hang: &Hang, joint: usize) -> CabinetLimits {
    match joint.checked_sub(1) {
        Some(above) => hang.cabinets[above].limits,
        None => {
            let limits = &hang.frame.limits;
            CabinetLimits {
                hinge_n: limits.hinge_n,
                rear_link_n: limits.rear_link_n,
                stop_n: limits.stop_n,
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_nobody_stated_has_no_utilisation() {
        let mut table = LimitTable::default();
        table.add(
            Part::FlyFrame,
            5.0,
            None,
            Case::Hanging,
            FactorUse::NotAsked,
        );
        assert_eq!(table.rows[0].utilisation(), None);
        assert_eq!(table.greatest_utilisation(), None);
    }

    #[test]
    fn the_case_with_the_greatest_force_governs() {
        let mut table = LimitTable::default();
        table.add(
            Part::FlyFrame,
            5.0,
            Some(10.0),
            Case::Hanging,
            FactorUse::NotAsked,
        );
        table.add(
            Part::FlyFrame,
            8.0,
            Some(10.0),
            Case::Closing,
            FactorUse::HoistsStand,
        );
        table.add(
            Part::FlyFrame,
            6.0,
            Some(10.0),
            Case::Closed,
            FactorUse::HoistsStand,
        );
        assert_eq!(table.rows.len(), 1);
        assert_eq!(table.rows[0].case, Case::Closing);
        assert_eq!(table.rows[0].utilisation(), Some(0.8));
    }
}
