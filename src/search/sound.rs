//! What do the seats hear, and what do places where nobody sits?
//!
//! The measures that every answer reports, whatever it was searched for, of the study's own air and
//! the hang as pinned: J with its parts ([`crate::acoustics::unevenness`]), the evenness of levels
//! summed over 1 to 8 kHz ([`crate::acoustics::measures`]), and the level off the seats,
//! O = mean over the bands of 10 lg (energy mean over the places) − M.

use super::company::Company;
use super::evaluator::Evaluator;
use super::hearing::Heard;
use super::laid::Laid;
use super::listeners::{counted, off_seats, wanted_db};
use super::problem::Problem;
use super::shadows::Tried;
use crate::acoustics::cutting::FAR_FIELD_TOLERANCE;
use crate::acoustics::field::energies;
use crate::acoustics::unevenness::{self, Unevenness};
use crate::acoustics::{Field, Lines, Receivers, Sources, accumulate, bands, measures};
use crate::error::Result;
use crate::model::{OffSeats, Valid};

/// A place off the seats with its level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OffSeatsLevel {
    /// The place.
    pub place: OffSeats,
    /// Mean over the bands of its level, over the mean level of the seats.
    pub level_db: f64,
}

/// An air and an inaccuracy, with what they make of the hang.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConditionRow {
    /// Number of the air, the study's own first.
    pub air: usize,
    /// Whether splays and tilt are off within their tolerances.
    pub off: bool,
    /// The objective there.
    pub objective_db: f64,
    /// The spread over the seats, as the goals measure it.
    pub spread_db: f64,
    /// The mean level of the seats.
    pub mean_db: f64,
}

/// What one hang sounds like.
#[derive(Clone, Debug, PartialEq)]
pub struct Sound {
    /// Numbers of the third octaves, 0 at 1 kHz.
    pub bands: Vec<i32>,
    /// Unevenness and its parts.
    pub measures: Unevenness,
    /// Spread of the levels summed over 1 to 8 kHz.
    pub evenness_db: f64,
    /// Level off the seats; none where the venue has no such place.
    pub off_seats_db: Option<f64>,
    /// The places off the seats.
    pub off_seats: Vec<OffSeatsLevel>,
    /// Roughness of the pins.
    pub roughness_deg: f64,
    /// Each air and inaccuracy of the study.
    pub conditions: Vec<ConditionRow>,
}

/// What `laid` sounds like.
pub(super) fn of(
    problem: &Problem<'_>,
    evaluator: &mut Evaluator<'_, '_>,
    laid: &Laid,
) -> Result<(Heard, Sound)> {
    let all = evaluator.hear(laid)?;
    let rows = evaluator
        .each_heard(laid)
        .into_iter()
        .zip(&problem.conditions);
    let conditions = rows
        .map(|(heard, condition)| ConditionRow {
            air: condition.air,
            off: condition.off.is_some(),
            objective_db: heard.objective_db,
            spread_db: heard.spread_db,
            mean_db: heard.mean_db,
        })
        .collect();
    let cabinets = 0..problem.study.hang.cabinets.len();
    let voices = (0..problem.voices())
        .map(|voice| problem.sources(&laid.candidate, &laid.pose, cabinets.clone(), voice))
        .collect::<Result<Vec<_>>>()?;
    let sound = Sound {
        roughness_deg: problem.roughness_deg(laid),
        conditions,
        ..of_voices(problem, &voices)?
    };
    Ok((all, sound))
}

/// What the sources of each voice, with all that hangs beside, sound like to the seats of a study; its pins and conditions are left empty.
fn of_voices(problem: &Problem<'_>, voices: &[Sources]) -> Result<Sound> {
    let study = problem.study;
    let company = Company::of(study)?;
    let tried = Tried::of(study, &problem.variables, company.fronts_m()?);
    let heard = |receivers: &Receivers, lines: &Lines| -> Result<Vec<Field>> {
        let (beside, mut others) =
            company.fields(&tried.room, receivers, lines, FAR_FIELD_TOLERANCE)?;
        let mut fields = Vec::new();
        for (voice, beside) in voices.iter().zip(beside) {
            let own = voice.clone().shaded_in(&tried.room, receivers, lines);
            let mut field = Field::of(&own, receivers, lines);
            if let Some(beside) = beside {
                accumulate(&beside, receivers, lines, &mut field);
            }
            fields.push(field);
        }
        fields.append(&mut others);
        Ok(fields)
    };
    let air = Valid::new(study.air)?;
    let bands = study.goals.bands();
    let band_weight = study.goals.band_weights();
    let seats = counted(study, &tried)?;
    let receivers = Receivers::of_seats(&seats);
    let lines = Lines::of_bands(&bands, study.lines_per_band, &air)?;
    let band_db = energies::band_levels(&heard(&receivers, &lines)?, &lines);
    let wanted_db = wanted_db(study, &seats);
    let measures = unevenness::of_levels(
        &band_db,
        receivers.weight(),
        wanted_db.as_deref(),
        &band_weight,
    );
    measures::where_all_hear(measures.unevenness_db)?;

    let broad = Lines::of_bands(&bands::EVENNESS, study.lines_per_band, &air)?;
    let evenness_db = match &heard(&receivers, &broad)?[..] {
        [field] => measures::evenness_db(field, &receivers, &broad, wanted_db.as_deref()),
        fields => {
            let mut level_db = energies::broadband(&energies::band_levels(fields, &broad));
            for (level, wanted) in level_db.iter_mut().zip(wanted_db.iter().flatten()) {
                *level -= wanted;
            }
            measures::spread_db(&level_db, receivers.weight())
        }
    };

    let places = off_seats(study);
    let points = Receivers::of_points(places.iter().map(|place| place.place_m));
    let off_db = energies::band_levels(&heard(&points, &lines)?, &lines);
    let total: f64 = band_weight.iter().sum();
    let over_bands = |level_db: &dyn Fn(&[f64]) -> f64| {
        let bands = off_db.iter().zip(&band_weight);
        bands.map(|(levels, v)| v * level_db(levels)).sum::<f64>() / total - measures.mean_db
    };
    let energy_mean = |levels: &[f64]| {
        let energies = levels.iter().map(|level| 10f64.powf(level / 10.0));
        10.0 * (energies.sum::<f64>() / levels.len() as f64).log10()
    };
    Ok(Sound {
        evenness_db,
        off_seats_db: (!places.is_empty()).then(|| over_bands(&energy_mean)),
        off_seats: places
            .iter()
            .enumerate()
            .map(|(index, &place)| OffSeatsLevel {
                place,
                level_db: over_bands(&|levels| levels[index]),
            })
            .collect(),
        bands,
        measures,
        roughness_deg: 0.0,
        conditions: Vec::new(),
    })
}
