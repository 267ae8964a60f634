//! Beams at the Python face.

use crate::error::Result;
use crate::python::arrays::{Array, table};
use crate::python::statics::{LimitFields, limit_rows};
use crate::statics::suspension::beam::{self as core, BeamInput, Load, Support};
use crate::statics::suspension::beam_curve::Extremes;
use crate::statics::suspension::beam_limits::{BeamLimits, SpanRow, limit_table, span_uses};
use pyo3::prelude::*;

/// A beam at rest, held by the core.
#[pyclass(frozen, module = "hangarc._core")]
struct Beam {
    input: BeamInput,
    only_pull: bool,
    beam: core::Beam,
}

/// Length, supports, hinges, loads, own weight per metre, bending stiffness, only pull.
type NewArgs = (
    f64,
    Vec<(f64, f64, Option<f64>)>,
    Vec<f64>,
    Vec<LoadRow>,
    f64,
    f64,
    bool,
);

/// From, to, load per metre at both: a point load has none.
type LoadRow = (f64, Option<f64>, f64, Option<f64>);

fn load((from_m, to_m, start, end): LoadRow) -> Load {
    match (to_m, end) {
        (Some(to_m), Some(end_n_m)) => Load::Distributed {
            from_m,
            to_m,
            start_n_m: start,
            end_n_m,
        },
        _ => Load::Point {
            x_m: from_m,
            force_n: start,
        },
    }
}

fn load_row(load: &Load) -> LoadRow {
    match *load {
        Load::Point { x_m, force_n } => (x_m, None, force_n, None),
        Load::Distributed {
            from_m,
            to_m,
            start_n_m,
            end_n_m,
        } => (from_m, Some(to_m), start_n_m, Some(end_n_m)),
    }
}

#[derive(IntoPyObject)]
struct BeamFields {
    reaction_n: Array,
    slack: Array<bool>,
    load_n: f64,
    moment_range_nm: Pair,
    shear_range_n: Pair,
    deflection_range_m: Pair,
}

/// Least and greatest value, each with its place.
type Pair = ((f64, f64), (f64, f64));

#[derive(IntoPyObject)]
struct SpanFields {
    from_m: f64,
    to_m: f64,
    uniform_n_m: f64,
    point_n: f64,
    row_span_m: Option<f64>,
    uniform_limit_n_m: Option<f64>,
    point_limit_n: Option<f64>,
    utilisation: Option<f64>,
}

#[pymethods]
impl Beam {
    #[new]
    fn new(
        length_m: f64,
        supports: Vec<(f64, f64, Option<f64>)>,
        hinges_m: Vec<f64>,
        loads: Vec<LoadRow>,
        self_weight_n_m: f64,
        ei_nm2: f64,
        only_pull: bool,
    ) -> Result<Self> {
        let input = BeamInput {
            length_m,
            supports: supports
                .into_iter()
                .map(|(x_m, settlement_m, stiffness_n_m)| Support {
                    x_m,
                    settlement_m,
                    stiffness_n_m,
                })
                .collect(),
            hinges_m,
            loads: loads.into_iter().map(load).collect(),
            self_weight_n_m,
            ei_nm2,
        };
        let solve = if only_pull {
            core::hung_beam
        } else {
            core::beam
        };
        let beam = solve(&input)?;
        Ok(Self {
            input,
            only_pull,
            beam,
        })
    }

    fn fields(&self) -> BeamFields {
        BeamFields {
            reaction_n: self.beam.reaction_n.as_slice().into(),
            slack: self.beam.slack.as_slice().into(),
            load_n: self.beam.load_n,
            moment_range_nm: pair(&self.beam.moment_extremes()),
            shear_range_n: pair(&self.beam.shear_extremes()),
            deflection_range_m: pair(&self.beam.deflection_extremes()),
        }
    }

    fn at(&self, quantity: &str, x_m: Vec<f64>) -> Result<Array> {
        core::check_places(self.input.length_m, &x_m)?;
        let beam = &self.beam;
        let value = |x: f64| match quantity {
            "shear" => beam.shear_n(x),
            "moment" => beam.moment_nm(x),
            _ => beam.deflection_m(x),
        };
        Ok(x_m.into_iter().map(value).collect::<Vec<f64>>().into())
    }

    fn settlement_influence(&self) -> Result<Array> {
        let rows = core::settlement_influence_n_m(&self.input)?;
        Ok(table(&rows, self.input.supports.len()))
    }

    fn load_influence(&self, x_m: Vec<f64>) -> Result<Array> {
        let rows = core::load_influence(&self.input, &x_m)?;
        Ok(table(&rows, self.input.supports.len()))
    }

    fn span_uses(
        &self,
        span_table: Vec<(f64, Option<f64>, Option<f64>)>,
    ) -> Result<Vec<SpanFields>> {
        let rows: Vec<SpanRow> = span_table
            .into_iter()
            .map(|(span_m, uniform_n_m, point_n)| SpanRow {
                span_m,
                uniform_n_m,
                point_n,
            })
            .collect();
        let used = span_uses(&self.input, &rows)?.into_iter();
        Ok(used
            .map(|used| SpanFields {
                from_m: used.from_m,
                to_m: used.to_m,
                uniform_n_m: used.uniform.demand,
                point_n: used.point.demand,
                row_span_m: used.row_span_m,
                uniform_limit_n_m: used.uniform.limit,
                point_limit_n: used.point.limit,
                utilisation: used.utilisation(),
            })
            .collect())
    }

    fn limit_uses(
        &self,
        moment_nm: Option<f64>,
        shear_n: Option<f64>,
        deflection_m: Option<f64>,
        reaction_n: Vec<Option<f64>>,
    ) -> Result<Vec<LimitFields>> {
        let limits = BeamLimits {
            moment_nm,
            shear_n,
            deflection_m,
            reaction_n,
        };
        Ok(limit_rows(&limit_table(&self.beam, &limits)?))
    }

    /// What `__new__` takes, so that a copy or a pickle solves the same beam again.
    fn __getnewargs__(&self) -> NewArgs {
        let input = &self.input;
        let supports = input.supports.iter();
        (
            input.length_m,
            supports
                .map(|at| (at.x_m, at.settlement_m, at.stiffness_n_m))
                .collect(),
            input.hinges_m.clone(),
            input.loads.iter().map(load_row).collect(),
            input.self_weight_n_m,
            input.ei_nm2,
            self.only_pull,
        )
    }
}

fn pair(found: &Extremes) -> Pair {
    (
        (found.least, found.least_x_m),
        (found.greatest, found.greatest_x_m),
    )
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Beam>()
}
