//! Studies answered one a thread, at the Python face.

use super::search::{constraint_fields, fields, sound_fields};
use crate::error::{InputError, Result};
use crate::model::{self, Study, Valid};
use crate::search::{Answer, Figures, Handle, Options, by_law, evaluate, figures, optimise_splays};
use crate::threads;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How every study of a sweep is answered.
#[derive(Clone, FromPyObject)]
#[pyo3(from_item_all)]
struct Asked {
    mode: String,
    seed: u64,
    budget_evaluations: Option<u64>,
}

/// What became of a study, and the seconds it took.
struct Outcome {
    answer: Result<(Answer, Figures)>,
    seconds: f64,
}

fn outcome(study_json: &str, asked: &Asked, stop: &Handle) -> Outcome {
    let begun = Instant::now();
    let work = || -> Result<(Answer, Figures)> {
        let study: Valid<Study> = model::from_json(study_json)?;
        let options = Options {
            seed: asked.seed,
            prove: false,
            budget_evaluations: asked.budget_evaluations,
        };
        let handle = stop.child();
        let answer = match asked.mode.as_str() {
            "law" => by_law(&study, &handle),
            "given" => evaluate(&study, &handle),
            _ => optimise_splays(&study, options, &handle),
        }?;
        let figures = figures(&study, &answer)?;
        Ok((answer, figures))
    };
    // One study must not take the others with it.
    let answer = catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|panic| Err(broken(&*panic)));
    Outcome {
        answer,
        seconds: begun.elapsed().as_secs_f64(),
    }
}

fn broken(panic: &(dyn Any + Send)) -> InputError {
    let said = panic.downcast_ref::<&str>().map(ToString::to_string);
    let said = said.or_else(|| panic.downcast_ref::<String>().cloned());
    InputError::new(
        "study",
        said.unwrap_or_default(),
        "a study that the library can work out; please report it as a defect",
    )
}

/// One study's row as a dictionary; an input that is refused becomes the row's error.
fn row<'py>(py: Python<'py>, outcome: &Outcome, whole: bool) -> PyResult<Bound<'py, PyDict>> {
    let row = PyDict::new(py);
    row.set_item("seconds", outcome.seconds)?;
    let (answer, figures) = match &outcome.answer {
        Ok(both) => both,
        Err(error) => {
            row.set_item("status", "refused")?;
            row.set_item("error_field", &error.field)?;
            row.set_item("error_text", error.to_string())?;
            return Ok(row);
        }
    };
    row.set_item("status", answer.status.name())?;
    row.set_item("cabinets", answer.hang.cabinets.len())?;
    row.set_item("splays_deg", &answer.hang.splays_deg)?;
    row.set_item("tilt_deg", answer.tilt_deg)?;
    row.set_item("top_m", answer.top_m)?;
    row.set_item("trim_m", figures.trim_m)?;
    row.set_item("pick_x_m", &answer.pick_x_m)?;
    row.set_item("gains_db", &answer.gains_db)?;
    row.set_item("objective_db", answer.objective_db)?;
    row.set_item("straight_objective_db", answer.straight_objective_db)?;
    row.update(sound_fields(py, &answer.sound)?.as_mapping())?;
    row.set_item("mass_kg", figures.mass_kg)?;
    row.set_item("hoist_load_n", &figures.hoist_load_n)?;
    row.set_item("closing_force_n", answer.closing_force_n)?;
    let greatest = figures.greatest;
    let used = greatest.and_then(|part| part.utilisation());
    row.set_item("greatest_utilisation", used)?;
    row.set_item("greatest_part", greatest.map(|row| row.part.kind()))?;
    row.set_item("limits_not_stated", figures.not_stated)?;
    let missed = PyList::empty(py);
    for margin in answer.margins.iter().filter(|margin| margin.margin < 0.0) {
        let of_margin = PyDict::new(py);
        constraint_fields(&of_margin, margin.constraint)?;
        missed.append(of_margin)?;
    }
    row.set_item("missed", missed)?;
    row.set_item("evaluations", answer.evaluations)?;
    if whole {
        row.set_item("search", fields(py, answer)?)?;
    }
    Ok(row)
}

/// Answers one study on this thread alone.
#[pyfunction]
fn sweep_study<'py>(
    py: Python<'py>,
    study_json: &str,
    asked: Asked,
    whole: bool,
) -> PyResult<Bound<'py, PyDict>> {
    let outcome = py.detach(|| {
        let stop = Handle::default();
        threads::alone(|| outcome(study_json, &asked, &stop))
    });
    row(py, &outcome, whole)
}

type Finished = (u64, Outcome);

/// Studies on the threads of the core, one study a thread.
#[pyclass(frozen, module = "hangarc._core")]
struct SweepQueue {
    asked: Asked,
    whole: bool,
    stop: Arc<Handle>,
    sender: Mutex<Sender<Finished>>,
    receiver: Mutex<Receiver<Finished>>,
}

#[pymethods]
impl SweepQueue {
    #[new]
    fn new(asked: Asked, whole: bool) -> Self {
        let (sender, receiver) = channel();
        Self {
            asked,
            whole,
            stop: Arc::default(),
            sender: Mutex::new(sender),
            receiver: Mutex::new(receiver),
        }
    }

    /// Starts a study, on a thread alone or shared by all.
    fn submit(&self, py: Python<'_>, number: u64, study_json: String, alone: bool) {
        let (asked, stop) = (self.asked.clone(), Arc::clone(&self.stop));
        let sender = self.sender.lock().unwrap_or_else(PoisonError::into_inner);
        let sender = sender.clone();
        let work = move || {
            let finished = (number, outcome(&study_json, &asked, &stop));
            // Nobody listens any more where the sweep has ended.
            drop(sender.send(finished));
        };
        if alone {
            py.detach(|| threads::start(work));
        } else {
            std::thread::spawn(work);
        }
    }

    /// The next finished study's number and row; none when there is none within so many seconds.
    fn take<'py>(
        &self,
        py: Python<'py>,
        seconds: f64,
    ) -> PyResult<Option<(u64, Bound<'py, PyDict>)>> {
        let wait = Duration::try_from_secs_f64(seconds).unwrap_or(Duration::ZERO);
        let taken = py.detach(|| {
            let receiver = self.receiver.lock();
            let receiver = receiver.unwrap_or_else(PoisonError::into_inner);
            receiver.recv_timeout(wait)
        });
        match taken {
            Ok((number, outcome)) => Ok(Some((number, row(py, &outcome, self.whole)?))),
            Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => Ok(None),
        }
    }

    /// Asks every running study to stop.
    fn cancel(&self) {
        self.stop.cancel();
    }
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<SweepQueue>()?;
    module.add_function(wrap_pyfunction!(sweep_study, module)?)
}
