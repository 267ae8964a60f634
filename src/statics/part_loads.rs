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
use crate::model::{Hang, Rigging, Valid};
use crate::pose::pose;

/// Every part of `hang` on hoists at `pick_x_m`, at `tilt_deg`, against its stated limit; on one pick
/// the tilt at which it closes follows from the balance. With a step of 0 the hoists are in step.
///
/// # Errors
/// As [`super::balance::hoist_loads`], [`super::joints::joint_loads`] and [`close`], or a limit,
/// mass or factor out of range.
pub fn part_loads(
    hang: &Valid<Hang>,
    tilt_deg: f64,
    pick_x_m: &[f64],
    lifting: &Lifting,
    preload_n: f64,
    out_of_step_m: f64,
) -> Result<LimitTable> {
    each("pick_x_m", pick_x_m, finite)?;
    lifting.check()?;
    let pose = pose(hang, tilt_deg, 0.0)?;
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
                pick_x_m: Some(front_first),
                dynamic_factor: lifting.dynamic_factor,
                ..ClosingOptions::default()
            };
            limits.merge(&close(hang, tilt_deg, &options)?.limits);
        }
    }
    add_out_of_step(
        &mut limits,
        hang,
        tilt_deg,
        pick_x_m,
        out_of_step_m,
        lifting,
    )?;
    Ok(limits)
}
