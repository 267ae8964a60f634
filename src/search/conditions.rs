//! Under which conditions shall the hang serve? Each air of the study, and the hang as it may be
//! built within its tolerances.
//!
//! Splays and tilt off their values are drawn evenly from ± the tolerance, with a seed of their own,
//! in pairs of opposite sign: the same draws for every candidate, so that candidates are compared
//! alike.

use crate::acoustics::{Lines, bands};
use crate::error::Result;
use crate::model::{Measure, Study, Valid};
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng, SeedableRng};

/// Pairs of draws within the tolerances.
const PAIRS: usize = 2;
const SEED: u64 = 20;

/// How far a hang as built is off the hang as pinned.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Off {
    pub splays_deg: Vec<f64>,
    pub tilt_deg: f64,
}

/// One evening: its air, and what is off in the hang.
#[derive(Clone, Debug)]
pub(super) struct Condition {
    /// Number of the air, the study's own first.
    pub air: usize,
    pub off: Option<Off>,
    pub lines: Lines,
}

/// The conditions of a study, the study's own air and the hang as pinned first.
pub(super) fn of(study: &Study, lines_per_band: u32) -> Result<Vec<Condition>> {
    let numbers = match study.goals.measure {
        Measure::PerBand => study.goals.bands(),
        Measure::Broadband => bands::EVENNESS.to_vec(),
    };
    let airs = std::iter::once(study.air).chain(study.more_airs.iter().copied());
    let mut conditions = Vec::new();
    for (air, of_study) in airs.enumerate() {
        let valid = Valid::new(of_study).map_err(|error| error.within("air"))?;
        conditions.push(Condition {
            air,
            off: None,
            lines: Lines::of_bands(&numbers, lines_per_band, &valid)?,
        });
    }
    let lines = conditions[0].lines.clone();
    conditions.extend(draws(study).into_iter().map(|off| Condition {
        air: 0,
        off: Some(off),
        lines: lines.clone(),
    }));
    Ok(conditions)
}

fn draws(study: &Study) -> Vec<Off> {
    let (splay_deg, tilt_deg) = (study.splay_tolerance_deg, study.tilt_tolerance_deg);
    if splay_deg == 0.0 && tilt_deg == 0.0 {
        return Vec::new();
    }
    let mut random = Pcg64Mcg::seed_from_u64(SEED);
    let mut within = |most: f64| {
        let share = (random.next_u64() >> 11) as f64 / (1u64 << 53) as f64;
        most * (2.0 * share - 1.0)
    };
    (0..PAIRS)
        .flat_map(|_| {
            let off = Off {
                splays_deg: study
                    .hang
                    .splays_deg
                    .iter()
                    .map(|_| within(splay_deg))
                    .collect(),
                tilt_deg: within(tilt_deg),
            };
            let opposite = Off {
                splays_deg: off.splays_deg.iter().map(|off| -off).collect(),
                tilt_deg: -off.tilt_deg,
            };
            [off, opposite]
        })
        .collect()
}
