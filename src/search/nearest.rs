//! What would the study have to allow for the nearest hang to be hung?
//!
//! Every bound of the study that the hang misses is moved to what the hang needs. A miss that is no
//! bound of the study stays: picks that cannot hold the tilt, a chain that cannot close the hang, a
//! line of sight that is crossed.

use super::candidate::Candidate;
use super::constraints::{Constraint, Margin};
use super::detail::Detail;
use super::evaluator::Evaluator;
use super::problem::Problem;
use crate::error::Result;
use crate::model::{Study, Valid};
use crate::statics::limits::Part;

/// Moving the clutch's band loads other parts more, whose limits are then moved in turn.
const ROUNDS: usize = 4;

/// The study nearest to this one in which `candidate` misses nothing; none where no bound of the
/// study would help.
pub(super) fn nearest_study(
    study: &Valid<Study>,
    candidate: &Candidate,
) -> Result<Option<Valid<Study>>> {
    let mut nearest = study.clone();
    for _ in 0..ROUNDS {
        let problem = Problem::new(&nearest, Detail::full(&nearest))?;
        let laid = problem.lay(candidate.clone());
        let mut margins = problem.mechanics(&laid)?.margins;
        margins.extend(Evaluator::new(&problem).hear(&laid)?.margins);
        margins.retain(|margin| margin.miss() > 0.0);
        if margins.is_empty() {
            return Ok(Some(nearest));
        }
        let mut moved = (*nearest).clone();
        if !margins.iter().all(|margin| allow(&mut moved, margin)) {
            return Ok(None);
        }
        let Ok(moved) = Valid::new(moved) else {
            return Ok(None);
        };
        nearest = moved;
    }
    Ok(None)
}

/// Moves the bound to the value reached; whether it is a bound of the study.
fn allow(study: &mut Study, margin: &Margin) -> bool {
    let value = margin.value;
    match margin.constraint {
        Constraint::TrimHeight => study.min_trim_m = value,
        Constraint::LowestTilt if study.pick_x_m.is_empty() => study.tilt_range_deg[0] = value,
        Constraint::HighestTilt if study.pick_x_m.is_empty() => study.tilt_range_deg[1] = value,
        Constraint::LowestTilt
        | Constraint::HighestTilt
        | Constraint::ChainCloses
        | Constraint::BuildingLoad
        | Constraint::SightLine(_) => return false,
        Constraint::ClosingForce => {
            if let Some([low_n, high_n]) =
                study.hang.gear.as_mut().and_then(|g| g.clutch_n.as_mut())
            {
                *low_n = value;
                *high_n = high_n.max(value);
            }
        }
        Constraint::WantedClosingForce => study.goals.most_closing_force_n = Some(value),
        Constraint::Mass => study.goals.most_mass_kg = Some(value),
        Constraint::MeanLevel => study.goals.least_mean_db = Some(value),
        Constraint::Reach => study.goals.least_reach_db = Some(value),
        Constraint::QuietPlace(index) => study.goals.quiet_places[index].most_db = value,
        Constraint::OffSeats => study.goals.most_off_seats_db = Some(value),
        Constraint::Limit(part) => return raise(study, part, value),
    }
    true
}

fn raise(study: &mut Study, part: Part, limit: f64) -> bool {
    let hang = &mut study.hang;
    let limit = Some(limit);
    match part {
        Part::FlyFrame => hang.frame.limits.total_n = limit,
        Part::Pick(_) => hang.frame.limits.pick_n = greater(limit, hang.frame.limits.pick_n),
        Part::Hoist(_) => study.hoist_limit_n = greater(limit, study.hoist_limit_n),
        Part::RoofPoint(_) => study.roof_point_limit_n = greater(limit, study.roof_point_limit_n),
        Part::UpperAnchor => hang.frame.limits.chain_n = limit,
        Part::LowerAnchor => {
            if let Some(bottom) = &mut hang.bottom {
                bottom.limits.chain_n = limit;
            }
        }
        Part::ClosingChain => {
            if let Some(gear) = &mut hang.gear {
                gear.limits.chain_n = limit;
            }
        }
        Part::LeverHoist => {
            if let Some(gear) = &mut hang.gear {
                gear.limits.hoist_n = limit;
            }
        }
        Part::Hinge(0) => hang.frame.limits.hinge_n = limit,
        Part::RearLink(0) => hang.frame.limits.rear_link_n = limit,
        Part::Stop(0) => hang.frame.limits.stop_n = limit,
        Part::Hinge(joint) => hang.cabinets[joint - 1].limits.hinge_n = limit,
        Part::RearLink(joint) => hang.cabinets[joint - 1].limits.rear_link_n = limit,
        Part::Stop(joint) => hang.cabinets[joint - 1].limits.stop_n = limit,
        Part::OneSide(..)
        | Part::PullBackLine
        | Part::BeamMoment
        | Part::BeamShear
        | Part::BeamDeflection
        | Part::BeamSupport(_)
        | Part::SpanUniform(_)
        | Part::SpanPoint(_) => return false,
    }
    true
}

/// The greater of two limits; several parts share one field.
fn greater(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.into_iter().chain(b).reduce(f64::max)
}
