//! What is the most that each part carries, in any state the hang goes through?
//!
//! Hanging on its hoists; and a compression hang open, on the way to closed, with the slip clutch
//! giving way, closed, preloaded, and lifted so; and with one hoist of two out of step: one row a
//! part, from the state that loads it most.

use super::balance::hoist_loads_of;
use super::closing::{ClosingOptions, FrameHold, close};
use super::joints::joint_loads_of;
use super::limits::{Lifting, LimitTable};
use super::tilted::add_out_of_step;
use crate::error::{Result, each, finite};
use crate::model::Rigging;
use crate::pose::Hanging;

/// Every part of a hang on its hoists against its stated limit; on one pick
/// the tilt at which it closes follows from the balance. With a step of 0 the hoists are in step.
///
/// # Errors
/// As [`super::balance::hoist_loads`], [`super::joints::joint_loads`] and [`close`], or a limit,
/// mass or factor out of range.
pub fn part_loads(
    hanging: &Hanging<'_>,
    lifting: &Lifting,
    preload_n: f64,
    out_of_step_m: f64,
) -> Result<LimitTable> {
    let Hanging { hang, pick_x_m, .. } = *hanging;
    each("pick_x_m", pick_x_m, finite)?;
    lifting.check()?;
    let pose = hanging.pose()?;
    let loads = hoist_loads_of(&pose, hang, pick_x_m)?;
    let mut limits = LimitTable::default();
    limits.add_lifting(hang, pose.weight_n(), &loads, lifting);
    match hang.rigging {
        Rigging::Tension => {
            limits.add_joints(hang, &joint_loads_of(&pose)?, lifting.dynamic_factor);
        }
        Rigging::Compression => {
            let mut front_first = pick_x_m.to_vec();
            front_first.sort_by(|a, b| b.total_cmp(a));
            let options = ClosingOptions {
                preload_n,
                frame: match pick_x_m {
                    [_] => FrameHold::OnePick,
                    _ => FrameHold::TwoHoists,
                },
                dynamic_factor: lifting.dynamic_factor,
                ..ClosingOptions::default()
            };
            limits.merge(&close(&hanging.on(&front_first), &options)?.limits);
        }
    }
    add_out_of_step(&mut limits, hanging, out_of_step_m, lifting)?;
    Ok(limits)
}
