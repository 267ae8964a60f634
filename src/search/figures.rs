//! What does a table state of an answer besides its search: masses, loads, the limit used most?

use super::answer::Answer;
use crate::error::Result;
use crate::model::Study;
use crate::pose::{Hanging, place};
use crate::statics::balance::hoist_loads_of;
use crate::statics::limits::{Lifting, LimitRow};
use crate::statics::part_loads::part_loads;

/// The mechanics of an answer, hanging and closing.
#[derive(Clone, Debug, PartialEq)]
pub struct Figures {
    /// Everything hung, fly frame included.
    pub mass_kg: f64,
    /// Height of the lowest point.
    pub trim_m: f64,
    /// Load of each hoist at rest, in the order of the picks.
    pub hoist_load_n: Vec<f64>,
    /// The part whose stated limit is used most; none where no limit is stated.
    pub greatest: Option<LimitRow>,
    /// Parts that carry something and whose limit is not stated.
    pub not_stated: usize,
}

/// The figures of a study's answer.
///
/// # Errors
/// The mechanics of the hang cannot be computed.
pub fn figures(study: &Study, answer: &Answer) -> Result<Figures> {
    let hang = &answer.hang;
    let pose = place(hang, &hang.splays_deg, answer.tilt_deg, answer.top_m);
    let hoists = hoist_loads_of(&pose, hang, &answer.pick_x_m)?;
    let lifting = Lifting::of(study);
    let table = part_loads(
        &Hanging::at(hang, answer.tilt_deg).on(&answer.pick_x_m),
        &lifting,
        0.0,
        0.0,
    )?;
    let stated = table.rows.iter().filter(|row| row.limit.is_some());
    let greatest = stated.copied().reduce(|a, b| {
        if b.utilisation() > a.utilisation() {
            b
        } else {
            a
        }
    });
    Ok(Figures {
        mass_kg: pose.mass_kg,
        trim_m: pose.trim_m,
        hoist_load_n: hoists.load_n,
        greatest,
        not_stated: table.rows.iter().filter(|row| row.limit.is_none()).count(),
    })
}
