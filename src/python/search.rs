//! The splay search at the Python face.

use super::acoustics::unevenness_fields;
use super::error::or_raise;
use super::model::Study;
use super::statics::limit_rows;
use crate::acoustics::bands;
use crate::error::{Result, positive};
use crate::model::OffSeatsKind;
use crate::search::{
    Against, Answer, Constraint, Handle, Now, Options, Range, Sound,
    electronics as core_electronics, evaluate as core_evaluate, one_hole,
    optimise_splays as core_search, trade_off as core_trade_off, turn as core_turn,
};
use numpy::PyArray1;
use pyo3::exceptions::{PyKeyboardInterrupt, PyRuntimeError};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// How often a running search looks for signals and reports progress.
const PULSE: Duration = Duration::from_millis(50);

#[pyfunction]
#[pyo3(signature = (study, seed, prove, budget_evaluations, budget_s, progress))]
fn optimise_splays<'py>(
    py: Python<'py>,
    study: &Study,
    seed: u64,
    prove: bool,
    budget_evaluations: Option<u64>,
    budget_s: Option<f64>,
    progress: Option<Bound<'py, PyAny>>,
) -> PyResult<Bound<'py, PyDict>> {
    let options = Options {
        seed,
        prove,
        budget_evaluations,
    };
    let budget = or_raise(py, budget_s.map(seconds).transpose())?;
    let handle = Handle::until(budget.and_then(|budget| Instant::now().checked_add(budget)));
    let (outcome, interrupt) = watched(py, &handle, progress.as_ref(), || {
        core_search(&study.0, options, &handle)
    })?;
    let best = fields(py, &or_raise(py, outcome)?)?;
    raise_with_best(py, interrupt, &best)?;
    Ok(best)
}

/// Raises the interrupt, if there was one, with what was found as its attribute `best`.
fn raise_with_best(
    py: Python<'_>,
    interrupt: Option<PyErr>,
    best: &Bound<'_, PyAny>,
) -> PyResult<()> {
    let Some(interrupt) = interrupt else {
        return Ok(());
    };
    interrupt.value(py).setattr("best", best)?;
    Err(interrupt)
}

/// Gains and a filter for the study's hang with its pins as they are.
#[pyfunction]
fn electronics<'py>(
    py: Python<'py>,
    study: &Study,
    tilt_deg: f64,
    top_m: f64,
    least_gain_db: f64,
    most_filter_db: f64,
) -> PyResult<Bound<'py, PyDict>> {
    let study = &study.0;
    let found =
        py.detach(|| core_electronics(study, tilt_deg, top_m, least_gain_db, most_filter_db));
    let found = or_raise(py, found)?;
    let fields = PyDict::new(py);
    fields.set_item("gains_db", PyArray1::from_slice(py, &found.gains_db))?;
    let band_hz = found.bands.iter().map(|&band| bands::mid_hz(band));
    fields.set_item("band_hz", PyArray1::from_iter(py, band_hz))?;
    fields.set_item("filter_db", PyArray1::from_slice(py, &found.filter_db))?;
    let [before_db, after_db] = [found.before_db, found.after_db];
    fields.set_item("unevenness_before_db", before_db[0])?;
    fields.set_item("mean_before_db", before_db[1])?;
    fields.set_item("unevenness_db", after_db[0])?;
    fields.set_item("mean_db", after_db[1])?;
    fields.set_item("converged", found.converged)?;
    Ok(fields)
}

/// One turn of a hang among others; `now` is its tilt and top, where it hangs already.
#[pyfunction]
#[pyo3(signature = (study, now, seed, progress))]
fn turn<'py>(
    py: Python<'py>,
    study: &Study,
    now: Option<(f64, f64)>,
    seed: u64,
    progress: Option<Bound<'py, PyAny>>,
) -> PyResult<Bound<'py, PyDict>> {
    let handle = Handle::default();
    let now = now.map(|(tilt_deg, top_m)| Now { tilt_deg, top_m });
    let (outcome, interrupt) = watched(py, &handle, progress.as_ref(), || {
        core_turn(&study.0, now, seed, &handle)
    })?;
    if let Some(interrupt) = interrupt {
        return Err(interrupt);
    }
    let found = or_raise(py, outcome)?;
    let fields = PyDict::new(py);
    fields.set_item("splays_deg", &found.hang.splays_deg)?;
    fields.set_item("hang_json", crate::model::to_json(&found.hang))?;
    fields.set_item("tilt_deg", found.tilt_deg)?;
    fields.set_item("top_m", found.top_m)?;
    fields.set_item("pick_x_m", &found.pick_x_m)?;
    fields.set_item("objective_db", found.objective_db)?;
    fields.set_item("feasible", found.feasible)?;
    Ok(fields)
}

/// The answer of a study with its pins as they are.
#[pyfunction]
fn evaluate<'py>(py: Python<'py>, study: &Study) -> PyResult<Bound<'py, PyDict>> {
    let handle = Handle::default();
    let (outcome, interrupt) = watched(py, &handle, None, || core_evaluate(&study.0, &handle))?;
    let best = fields(py, &or_raise(py, outcome)?)?;
    raise_with_best(py, interrupt, &best)?;
    Ok(best)
}

fn seconds(budget_s: f64) -> Result<Duration> {
    let budget_s = positive("budget_s", budget_s)?;
    Ok(Duration::try_from_secs_f64(budget_s).unwrap_or(Duration::MAX))
}

/// Runs `work` on a thread of its own, reporting progress. An exception of a signal handler or of
/// `progress` asks it to stop and is raised when it has; that of Ctrl-C comes with what was found.
fn watched<T: Send>(
    py: Python<'_>,
    handle: &Handle,
    progress: Option<&Bound<'_, PyAny>>,
    work: impl FnOnce() -> Result<T> + Send,
) -> PyResult<(Result<T>, Option<PyErr>)> {
    std::thread::scope(|scope| {
        let (sender, mut receiver) = channel();
        scope.spawn(move || sender.send(work()));
        let mut raised: Option<PyErr> = None;
        let outcome = loop {
            let waiting = &mut receiver;
            match py.detach(move || waiting.recv_timeout(PULSE)) {
                Ok(outcome) => break outcome,
                Err(RecvTimeoutError::Disconnected) => {
                    return Err(PyRuntimeError::new_err(
                        "the search ended without an answer",
                    ));
                }
                Err(RecvTimeoutError::Timeout) => {
                    let report =
                        || progress.map_or(Ok(()), |p| p.call1((handle.evaluations(),)).map(drop));
                    if let Err(error) = py.check_signals().and_then(|()| report()) {
                        handle.cancel();
                        raised.get_or_insert(error);
                    }
                }
            }
        };
        match raised {
            Some(error) if !error.is_instance_of::<PyKeyboardInterrupt>(py) => Err(error),
            interrupt => Ok((outcome, interrupt)),
        }
    })
}

/// A constraint that is missed, if any.
fn missed_fields(
    py: Python<'_>,
    missed: Option<Constraint>,
) -> PyResult<Option<Bound<'_, PyDict>>> {
    let fields = missed.map(|missed| {
        let row = PyDict::new(py);
        constraint_fields(&row, missed).map(|()| row)
    });
    fields.transpose()
}

/// The constraint as data; its words are left to the face.
pub(super) fn constraint_fields(row: &Bound<'_, PyDict>, constraint: Constraint) -> PyResult<()> {
    let (kind, number) = constraint.kind();
    row.set_item("kind", kind)?;
    row.set_item("number", number)?;
    row.set_item("part", constraint.part().map(|part| part.kind().0))
}

pub(super) fn fields<'py>(py: Python<'py>, answer: &Answer) -> PyResult<Bound<'py, PyDict>> {
    let fields = PyDict::new(py);
    fields.set_item("status", answer.status.name())?;
    fields.set_item("hang", pythonize::pythonize(py, &*answer.hang)?)?;
    fields.set_item(
        "splays_deg",
        PyArray1::from_slice(py, &answer.hang.splays_deg),
    )?;
    fields.set_item("tilt_deg", answer.tilt_deg)?;
    fields.set_item("top_m", answer.top_m)?;
    fields.set_item("pick_x_m", PyArray1::from_slice(py, &answer.pick_x_m))?;
    fields.set_item("gains_db", PyArray1::from_slice(py, &answer.gains_db))?;
    fields.set_item("objective_db", answer.objective_db)?;
    fields.set_item("least_objective_db", answer.least_objective_db)?;
    fields.set_item("runs_db", PyArray1::from_slice(py, &answer.runs_db))?;
    let beyond = PyList::empty(py);
    for end in &answer.beyond {
        let row = PyDict::new(py);
        let range = match end.range {
            Range::Tilt => "tilt_deg",
            Range::Top => "top_m",
        };
        row.set_item("variable", range)?;
        row.set_item("end", end.end)?;
        row.set_item("next", end.next)?;
        row.set_item("objective_change_db", end.objective_change_db)?;
        row.set_item("missed", missed_fields(py, end.missed)?)?;
        beyond.append(row)?;
    }
    fields.set_item("beyond", beyond)?;
    fields.set_item("sound", sound_fields(py, &answer.sound)?)?;
    fields.set_item("closing_force_n", answer.closing_force_n)?;
    fields.set_item("straight_objective_db", answer.straight_objective_db)?;
    fields.set_item("straight_sound", sound_fields(py, &answer.straight_sound)?)?;
    fields.set_item("straight_tilt_deg", answer.straight_tilt_deg)?;
    fields.set_item("straight_top_m", answer.straight_top_m)?;
    fields.set_item("evaluations", answer.evaluations)?;
    fields.set_item("limits", limit_rows(py, &answer.limits)?)?;
    let counts = PyList::empty(py);
    for count in &answer.counts {
        let row = PyDict::new(py);
        row.set_item("cabinets", count.cabinets)?;
        row.set_item("objective_db", count.objective_db)?;
        row.set_item("feasible", count.feasible)?;
        counts.append(row)?;
    }
    fields.set_item("counts", counts)?;
    let margins = PyList::empty(py);
    for margin in &answer.margins {
        let row = PyDict::new(py);
        constraint_fields(&row, margin.constraint)?;
        row.set_item("value", margin.value)?;
        row.set_item("bound", margin.bound)?;
        row.set_item("margin", margin.margin)?;
        margins.append(row)?;
    }
    fields.set_item("margins", margins)?;
    let nearest = answer.nearest_study.as_deref();
    let nearest = nearest.map(|study| pythonize::pythonize(py, study));
    fields.set_item("nearest_study", nearest.transpose()?)?;
    Ok(fields)
}

pub(super) fn sound_fields<'py>(py: Python<'py>, sound: &Sound) -> PyResult<Bound<'py, PyDict>> {
    let fields = unevenness_fields(py, &sound.measures)?;
    let band_hz = sound.bands.iter().map(|&band| bands::mid_hz(band));
    fields.set_item("band_hz", PyArray1::from_iter(py, band_hz))?;
    fields.set_item("evenness_db", sound.evenness_db)?;
    fields.set_item("roughness_deg", sound.roughness_deg)?;
    fields.set_item("off_seats_db", sound.off_seats_db)?;
    let off_seats = PyList::empty(py);
    for row in &sound.off_seats {
        let of_row = PyDict::new(py);
        let (kind, index) = match row.place.kind {
            OffSeatsKind::Behind(area) => ("behind the last row", Some(area)),
            OffSeatsKind::FrontEdge(area) => ("front edge", Some(area)),
            OffSeatsKind::Stage => ("stage", None),
            OffSeatsKind::Named(index) => ("named", Some(index)),
        };
        of_row.set_item("kind", kind)?;
        of_row.set_item("index", index)?;
        of_row.set_item("position_m", row.place.place_m)?;
        of_row.set_item("level_db", row.level_db)?;
        off_seats.append(of_row)?;
    }
    fields.set_item("off_seats", off_seats)?;
    let conditions = PyList::empty(py);
    for row in &sound.conditions {
        let of_row = PyDict::new(py);
        of_row.set_item("air", row.air)?;
        of_row.set_item("off", row.off)?;
        of_row.set_item("objective_db", row.objective_db)?;
        of_row.set_item("spread_db", row.spread_db)?;
        of_row.set_item("mean_db", row.mean_db)?;
        conditions.append(of_row)?;
    }
    fields.set_item("conditions", conditions)?;
    Ok(fields)
}

/// What a study wants at each seat of its venue, 0 where the same is wanted everywhere.
#[pyfunction]
#[pyo3(name = "wanted_db")]
fn wanted_at_seats<'py>(py: Python<'py>, study: &Study) -> Bound<'py, PyArray1<f64>> {
    let seats = study.0.venue.seats();
    let wanted_db =
        crate::search::wanted_db(&study.0, &seats).unwrap_or_else(|| vec![0.0; seats.len()]);
    PyArray1::from_vec(py, wanted_db)
}

#[pyfunction]
fn one_hole_table<'py>(
    py: Python<'py>,
    study: &Study,
    tilt_deg: f64,
    top_m: f64,
) -> PyResult<Bound<'py, PyList>> {
    let found = py.detach(|| one_hole(&study.0, tilt_deg, top_m));
    let rows = PyList::empty(py);
    for found in or_raise(py, found)? {
        let row = PyDict::new(py);
        row.set_item("joint", found.joint)?;
        row.set_item("from_deg", found.from_deg)?;
        row.set_item("to_deg", found.to_deg)?;
        row.set_item("objective_change_db", found.objective_change_db)?;
        row.set_item("spread_change_db", found.spread_change_db)?;
        row.set_item("mean_change_db", found.mean_change_db)?;
        row.set_item("closing_force_change_n", found.closing_force_change_n)?;
        row.set_item("joint_force_change_n", found.joint_force_change_n)?;
        row.set_item("missed", missed_fields(py, found.missed)?)?;
        rows.append(row)?;
    }
    Ok(rows)
}

#[pyfunction]
#[pyo3(signature = (study, against, points, seed, budget_evaluations, progress))]
fn trade_off<'py>(
    py: Python<'py>,
    study: &Study,
    against: &str,
    points: usize,
    seed: u64,
    budget_evaluations: Option<u64>,
    progress: Option<Bound<'py, PyAny>>,
) -> PyResult<Bound<'py, PyList>> {
    let options = Options {
        seed,
        prove: false,
        budget_evaluations,
    };
    let against = or_raise(py, Against::named(against))?;
    let handle = Handle::default();
    let (outcome, interrupt) = watched(py, &handle, progress.as_ref(), || {
        core_trade_off(&study.0, against, points, options, &handle)
    })?;
    let front = PyList::empty(py);
    for answer in or_raise(py, outcome)? {
        front.append(fields(py, &answer)?)?;
    }
    raise_with_best(py, interrupt, &front)?;
    Ok(front)
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(optimise_splays, module)?)?;
    module.add_function(wrap_pyfunction!(electronics, module)?)?;
    module.add_function(wrap_pyfunction!(evaluate, module)?)?;
    module.add_function(wrap_pyfunction!(turn, module)?)?;
    module.add_function(wrap_pyfunction!(wanted_at_seats, module)?)?;
    module.add_function(wrap_pyfunction!(one_hole_table, module)?)?;
    module.add_function(wrap_pyfunction!(trade_off, module)?)
}
