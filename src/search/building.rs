//! What do hoists and picks carry while the hang is built, stage by stage?
//!
//! A rear that is still open hangs farther forward than a closed one, so the front hoist may carry
//! more while building than the finished hang ever asks of it.

use super::laid::Laid;
use crate::error::Result;
use crate::model::{Hang, Study};
use crate::statics::buildup::{BuildUp, open_stages};
use crate::statics::limits::{Case, FactorUse, Lifting, LimitTable, Part};

/// Adds the loads of all stages, with the dynamic factor; the least load of a hoist at rest in any.
///
/// # Errors
/// Picks that hold no frame.
pub(super) fn add_building(
    limits: &mut LimitTable,
    study: &Study,
    laid: &Laid,
    pick_x_m: &[f64],
    stack: u32,
) -> Result<f64> {
    let hang = Hang {
        splays_deg: laid.splays_deg.clone(),
        ..study.hang.clone()
    };
    let how = BuildUp {
        stack: stack as usize,
        cart_m: 0.0,
        pick_x_m: pick_x_m.to_vec(),
        tilt_deg: None,
    };
    let lifting = Lifting::of(study);
    let factor = lifting.dynamic_factor;
    let own_n = lifting.hoist_mass_kg * hang.gravity_m_s2;
    let mut least_n = f64::INFINITY;
    for stage in open_stages(&hang, &how, laid.tilt_deg)? {
        for (index, &load_n) in stage.hoist_load_n.iter().enumerate() {
            least_n = least_n.min(load_n);
            let roof_limit_n = lifting.roof_point_limit_n;
            for (part, rest_n, limit_n) in [
                (Part::Pick(index), load_n, hang.frame.limits.pick_n),
                (Part::Hoist(index), load_n, lifting.hoist_limit_n),
                (Part::RoofPoint(index), load_n + own_n, roof_limit_n),
            ] {
                let applied = FactorUse::Applied(factor);
                limits.add(part, rest_n * factor, limit_n, Case::Building, applied);
            }
        }
    }
    Ok(least_n)
}
