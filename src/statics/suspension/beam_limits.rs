//! How much of a beam's stated limits do its loads use?
//!
//! A table that goes with a beam states, for simple spans, the greatest uniform load and the
//! greatest single load at mid span. A span is held against the row of the next longer listed
//! span, never against an interpolated one. Loads of both kinds use the sum of their shares
//! (common practice, no source).

use super::beam::{Beam, BeamInput, Load, Support};
use super::beam_curve::Extremes;
use crate::error::{InputError, Result, accept, positive};
use crate::statics::limits::{Case, FactorUse, LimitRow, LimitTable, Part};

/// One row of a span table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpanRow {
    /// Span.
    pub span_m: f64,
    /// Greatest uniform load, beam's own weight not counted.
    pub uniform_n_m: Option<f64>,
    /// Greatest single load at mid span, beam's own weight not counted.
    pub point_n: Option<f64>,
}

/// What the loads of one span, or overhang, use of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct SpanUse {
    /// Left end.
    pub from_m: f64,
    /// Right end.
    pub to_m: f64,
    /// Listed span held against: `None` where none is as long, or the loads stand on an overhang.
    pub row_span_m: Option<f64>,
    /// Greatest load per metre in it, against that of the row.
    pub uniform: LimitRow,
    /// Sum of its point loads, against that of the row.
    pub point: LimitRow,
}

impl SpanUse {
    /// Sum of the shares of both limits; `None` where a limit that is needed is not stated.
    #[must_use]
    pub fn utilisation(&self) -> Option<f64> {
        let share = |row: &LimitRow| {
            if row.demand == 0.0 {
                Some(0.0)
            } else {
                row.utilisation()
            }
        };
        self.row_span_m?;
        Some(share(&self.uniform)? + share(&self.point)?)
    }
}

/// Holds the loads of every span against a table; rows in any order.
///
/// # Errors
/// A row with a number that is not above zero, or two rows of one span.
pub fn span_uses(input: &BeamInput, table: &[SpanRow]) -> Result<Vec<SpanUse>> {
    for (index, row) in table.iter().enumerate() {
        let within = |error: InputError| error.within(&format!("span_table[{index}]"));
        positive("span_m", row.span_m).map_err(within)?;
        for (name, limit) in [("uniform_n_m", row.uniform_n_m), ("point_n", row.point_n)] {
            if let Some(limit) = limit {
                positive(name, limit).map_err(within)?;
            }
        }
        accept(
            table[..index]
                .iter()
                .all(|other| other.span_m != row.span_m),
            &format!("span_table[{index}].span_m"),
            row.span_m,
            "a span listed once",
        )?;
    }
    let mut places: Vec<f64> = input.supports.iter().map(|at: &Support| at.x_m).collect();
    places.sort_by(f64::total_cmp);
    let last = places.len() - 1;
    let mut stretches: Vec<(f64, f64, bool)> = places
        .windows(2)
        .map(|ends| (ends[0], ends[1], true))
        .collect();
    stretches.insert(0, (0.0, places[0], false));
    stretches.push((places[last], input.length_m, false));
    Ok(stretches
        .into_iter()
        .filter(|(from, to, _)| to > from)
        .enumerate()
        .map(|(index, (from_m, to_m, is_span))| {
            let listed = table
                .iter()
                .filter(|row| is_span && row.span_m >= to_m - from_m)
                .min_by(|a, b| a.span_m.total_cmp(&b.span_m));
            let (uniform_n_m, point_n) = span_loads(&input.loads, from_m, to_m, is_span);
            let row = |part, demand, limit| LimitRow {
                part,
                demand,
                limit,
                case: Case::BeamLoaded,
                factor: FactorUse::NotAsked,
            };
            SpanUse {
                from_m,
                to_m,
                row_span_m: listed.map(|listed| listed.span_m),
                uniform: row(
                    Part::SpanUniform(index),
                    uniform_n_m,
                    listed.and_then(|listed| listed.uniform_n_m),
                ),
                point: row(
                    Part::SpanPoint(index),
                    point_n,
                    listed.and_then(|listed| listed.point_n),
                ),
            }
        })
        .collect())
}

/// Greatest load per metre, and sum of the point loads, of one span or overhang.
fn span_loads(loads: &[Load], from_m: f64, to_m: f64, is_span: bool) -> (f64, f64) {
    let mut point_n = 0.0;
    let mut edges = vec![from_m, to_m];
    for load in loads {
        match *load {
            Load::Point { x_m, force_n } if x_m > from_m && x_m < to_m => {
                point_n += force_n.max(0.0);
            }
            Load::Point { x_m, force_n } if !is_span && x_m >= from_m && x_m <= to_m => {
                point_n += force_n.max(0.0);
            }
            Load::Distributed { from_m, to_m, .. } => edges.extend([from_m, to_m]),
            Load::Point { .. } => {}
        }
    }
    edges.retain(|&edge| edge >= from_m && edge <= to_m);
    edges.sort_by(f64::total_cmp);
    edges.dedup();
    // Linear between edges, so that both ends of every part see the greatest.
    let uniform_n_m = edges
        .windows(2)
        .map(|ends| {
            let sum = |x: f64| {
                loads
                    .iter()
                    .map(|load| per_metre(load, ends, x))
                    .sum::<f64>()
            };
            sum(ends[0]).max(sum(ends[1]))
        })
        .fold(0.0, f64::max);
    (uniform_n_m, point_n)
}

/// Load per metre at `x`, one end of the part `ends` that no load begins or ends within.
fn per_metre(load: &Load, ends: &[f64], x: f64) -> f64 {
    match *load {
        Load::Distributed {
            from_m,
            to_m,
            start_n_m,
            end_n_m,
        } if from_m <= ends[0] && to_m >= ends[1] => {
            start_n_m + (end_n_m - start_n_m) * (x - from_m) / (to_m - from_m)
        }
        _ => 0.0,
    }
}

/// Limits stated for a beam besides its span table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BeamLimits {
    /// Bending moment.
    pub moment_nm: Option<f64>,
    /// Shear.
    pub shear_n: Option<f64>,
    /// Deflection between or beyond the supports.
    pub deflection_m: Option<f64>,
    /// Each reaction: one for all, or one per support.
    pub reaction_n: Vec<Option<f64>>,
}

/// Greatest moment, shear, deflection and each reaction against their stated limits.
///
/// # Errors
/// A limit not above zero, or neither one nor as many reaction limits as supports.
pub fn limit_table(beam: &Beam, limits: &BeamLimits) -> Result<LimitTable> {
    for (name, limit) in [
        ("moment_limit_nm", limits.moment_nm),
        ("shear_limit_n", limits.shear_n),
        ("deflection_limit_m", limits.deflection_m),
    ] {
        if let Some(limit) = limit {
            positive(name, limit)?;
        }
    }
    for limit in limits.reaction_n.iter().flatten() {
        positive("reaction_limit_n", *limit)?;
    }
    let supports = beam.reaction_n.len();
    let stated = limits.reaction_n.len();
    accept(
        stated <= 1 || stated == supports,
        "reaction_limit_n",
        format!("{stated} limits"),
        format!("one limit, or {supports}, one per support"),
    )?;
    let size = |found: Extremes| found.greatest.max(-found.least);
    let mut table = LimitTable::default();
    for (part, extremes, limit) in [
        (Part::BeamMoment, beam.moment_extremes(), limits.moment_nm),
        (Part::BeamShear, beam.shear_extremes(), limits.shear_n),
        (
            Part::BeamDeflection,
            beam.deflection_extremes(),
            limits.deflection_m,
        ),
    ] {
        table.add(
            part,
            size(extremes),
            limit,
            Case::BeamLoaded,
            FactorUse::NotAsked,
        );
    }
    for (index, reaction) in beam.reaction_n.iter().enumerate() {
        let limit = limits.reaction_n.get(if stated == 1 { 0 } else { index });
        let limit = limit.copied().flatten();
        table.add(
            Part::BeamSupport(index),
            reaction.abs(),
            limit,
            Case::BeamLoaded,
            FactorUse::NotAsked,
        );
    }
    Ok(table)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statics::suspension::beam::beam;

    fn input(loads: Vec<Load>) -> BeamInput {
        let at = |x_m| Support {
            x_m,
            settlement_m: 0.0,
            stiffness_n_m: None,
        };
        BeamInput {
            length_m: 10.0,
            supports: vec![at(0.0), at(8.0)],
            hinges_m: vec![],
            loads,
            self_weight_n_m: 0.0,
            ei_nm2: 1e6,
        }
    }

    fn row(span_m: f64, uniform_n_m: f64, point_n: f64) -> SpanRow {
        SpanRow {
            span_m,
            uniform_n_m: Some(uniform_n_m),
            point_n: Some(point_n),
        }
    }

    #[test]
    fn a_span_is_held_against_the_next_longer_row() {
        let loads = vec![
            Load::Distributed {
                from_m: 1.0,
                to_m: 3.0,
                start_n_m: 20.0,
                end_n_m: 60.0,
            },
            Load::Point {
                x_m: 2.0,
                force_n: 100.0,
            },
        ];
        let table = [
            row(6.0, 900.0, 4000.0),
            row(12.0, 300.0, 1000.0),
            row(9.0, 600.0, 2000.0),
        ];
        let uses = span_uses(&input(loads), &table).unwrap();
        assert_eq!(uses[0].row_span_m, Some(9.0));
        assert_eq!(uses[0].uniform.limit, Some(600.0));
        assert_eq!(uses[0].utilisation(), Some(60.0 / 600.0 + 100.0 / 2000.0));
    }

    #[test]
    fn a_span_longer_than_the_table_and_an_overhang_have_no_stated_limit() {
        let loads = vec![Load::Point {
            x_m: 10.0,
            force_n: 5.0,
        }];
        let uses = span_uses(&input(loads), &[row(6.0, 900.0, 4000.0)]).unwrap();
        assert_eq!(uses[0].utilisation(), None);
        assert_eq!(uses[1].point.demand, 5.0);
        assert_eq!(uses[1].utilisation(), None);
    }

    #[test]
    fn a_limit_nobody_stated_is_no_pass() {
        let bent = beam(&input(vec![Load::Point {
            x_m: 4.0,
            force_n: 100.0,
        }]))
        .unwrap();
        let limits = BeamLimits {
            moment_nm: Some(400.0),
            ..BeamLimits::default()
        };
        let table = limit_table(&bent, &limits).unwrap();
        assert_eq!(table.rows[0].part, Part::BeamMoment);
        assert!((table.rows[0].utilisation().unwrap() - 0.5).abs() < 1e-12);
        assert_eq!(table.rows[1].utilisation(), None);
        assert_eq!(table.greatest_utilisation(), table.rows[0].utilisation());
    }
}
