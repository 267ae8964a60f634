//! What do the joints carry when the hang hangs at another tilt than planned?
//!
//! Two plumb lines that do not stretch hold picks s apart along the frame; one longer by δ than the
//! other changes the tilt φ by sin φ′ = sin φ ± δ/s.

use super::balance::hoist_loads_of;
use super::closing::add_closed_at;
use super::joints::joint_loads_of;
use super::limits::{Case, FactorUse, Lifting, LimitTable};
use crate::error::{Result, accept, non_negative};
use crate::model::Rigging;
use crate::pose::Hanging;

/// Adds the joints, and the chain of a closed hang at its closing force, as it hangs.
///
/// # Errors
/// As [`super::joints::joint_loads`] and [`super::closing::close`].
pub fn add_tilted(table: &mut LimitTable, hanging: &Hanging<'_>, case: Case) -> Result<()> {
    let Hanging { hang, tilt_deg, .. } = *hanging;
    match hang.rigging {
        Rigging::Tension => {
            let mut joints = LimitTable::default();
            joints.add_joints(hang, &joint_loads_of(&hanging.pose()?)?, 1.0);
            table.merge(&joints.in_case(case, FactorUse::HoistsStand));
            Ok(())
        }
        Rigging::Compression => add_closed_at(table, hang, tilt_deg, case),
    }
}

/// Adds everything of a hang on two hoists, either of which is out of step by `out_of_step_m`.
///
/// # Errors
/// Not two picks, a step beyond the picks' distance, or as [`add_tilted`].
pub fn add_out_of_step(
    table: &mut LimitTable,
    hanging: &Hanging<'_>,
    out_of_step_m: f64,
    lifting: &Lifting,
) -> Result<()> {
    non_negative("out_of_step_m", out_of_step_m)?;
    let Hanging { hang, pick_x_m, .. } = *hanging;
    let [first, second] = pick_x_m else {
        // One hoist has none beside it.
        return Ok(());
    };
    if out_of_step_m == 0.0 {
        return Ok(());
    }
    let step = out_of_step_m / (first - second).abs();
    let case = Case::HoistOutOfStep;
    for side in [step, -step] {
        let sine = hanging.tilt_deg.to_radians().sin() + side;
        accept(
            sine.abs() < 1.0,
            "out_of_step_m",
            out_of_step_m,
            "less than turns the frame upright",
        )?;
        let tilt_deg = sine.asin().to_degrees();
        let tilted = Hanging {
            tilt_deg,
            ..*hanging
        };
        let placed = tilted.pose()?;
        let loads = hoist_loads_of(&placed, hang, pick_x_m)?;
        let standing = Lifting {
            dynamic_factor: 1.0,
            ..*lifting
        };
        let mut above = LimitTable::default();
        above.add_lifting(hang, placed.weight_n(), &loads, &standing);
        table.merge(&above.in_case(case, FactorUse::HoistsStand));
        add_tilted(table, &tilted, case)?;
    }
    Ok(())
}
