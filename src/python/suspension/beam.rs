//! Beams at the Python face.

use crate::python::arrays::table;
use crate::python::error::or_raise;
use crate::python::statics::limit_rows;
use crate::statics::suspension::beam::{self as core, BeamInput, Load, Support};
use crate::statics::suspension::beam_curve::Extremes;
use crate::statics::suspension::beam_limits::{BeamLimits, SpanRow, limit_table, span_uses};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

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

#[pymethods]
impl Beam {
    #[new]
    #[expect(clippy::too_many_arguments, reason = "the fields of one flat input")]
    fn new(
        py: Python<'_>,
        length_m: f64,
        supports: Vec<(f64, f64, Option<f64>)>,
        hinges_m: Vec<f64>,
        loads: Vec<LoadRow>,
        self_weight_n_m: f64,
        ei_nm2: f64,
        only_pull: bool,
    ) -> PyResult<Self> {
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
        let beam = or_raise(py, solve(&input))?;
        Ok(Self {
            input,
            only_pull,
            beam,
        })
    }

    fn fields<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let fields = PyDict::new(py);
        fields.set_item(
            "reaction_n",
            PyArray1::from_slice(py, &self.beam.reaction_n),
        )?;
        fields.set_item("slack", PyArray1::from_slice(py, &self.beam.slack))?;
        fields.set_item("load_n", self.beam.load_n)?;
        for (name, found) in [
            ("moment_range_nm", self.beam.moment_extremes()),
            ("shear_range_n", self.beam.shear_extremes()),
            ("deflection_range_m", self.beam.deflection_extremes()),
        ] {
            fields.set_item(name, pairs(found))?;
        }
        Ok(fields)
    }

    fn at<'py>(
        &self,
        py: Python<'py>,
        quantity: &str,
        x_m: Vec<f64>,
    ) -> PyResult<Bound<'py, PyArray1<f64>>> {
        or_raise(py, core::check_places(self.input.length_m, &x_m))?;
        let beam = &self.beam;
        let value = |x: f64| match quantity {
            "shear" => beam.shear_n(x),
            "moment" => beam.moment_nm(x),
            _ => beam.deflection_m(x),
        };
        Ok(PyArray1::from_iter(py, x_m.into_iter().map(value)))
    }

    fn settlement_influence<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let rows = or_raise(py, core::settlement_influence_n_m(&self.input))?;
        Ok(table(py, &rows, self.input.supports.len())?.into_any())
    }

    fn load_influence<'py>(&self, py: Python<'py>, x_m: Vec<f64>) -> PyResult<Bound<'py, PyAny>> {
        let rows = or_raise(py, core::load_influence(&self.input, &x_m))?;
        Ok(table(py, &rows, self.input.supports.len())?.into_any())
    }

    fn span_uses<'py>(
        &self,
        py: Python<'py>,
        span_table: Vec<(f64, Option<f64>, Option<f64>)>,
    ) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let rows: Vec<SpanRow> = span_table
            .into_iter()
            .map(|(span_m, uniform_n_m, point_n)| SpanRow {
                span_m,
                uniform_n_m,
                point_n,
            })
            .collect();
        or_raise(py, span_uses(&self.input, &rows))?
            .into_iter()
            .map(|used| {
                let fields = PyDict::new(py);
                fields.set_item("from_m", used.from_m)?;
                fields.set_item("to_m", used.to_m)?;
                fields.set_item("uniform_n_m", used.uniform.demand)?;
                fields.set_item("point_n", used.point.demand)?;
                fields.set_item("row_span_m", used.row_span_m)?;
                fields.set_item("uniform_limit_n_m", used.uniform.limit)?;
                fields.set_item("point_limit_n", used.point.limit)?;
                fields.set_item("utilisation", used.utilisation())?;
                Ok(fields)
            })
            .collect()
    }

    fn limit_uses<'py>(
        &self,
        py: Python<'py>,
        moment_nm: Option<f64>,
        shear_n: Option<f64>,
        deflection_m: Option<f64>,
        reaction_n: Vec<Option<f64>>,
    ) -> PyResult<Bound<'py, PyList>> {
        let limits = BeamLimits {
            moment_nm,
            shear_n,
            deflection_m,
            reaction_n,
        };
        limit_rows(py, &or_raise(py, limit_table(&self.beam, &limits))?)
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

fn pairs(found: Extremes) -> ((f64, f64), (f64, f64)) {
    (
        (found.least, found.least_x_m),
        (found.greatest, found.greatest_x_m),
    )
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Beam>()
}
