//! Studies answered one per thread, at the Python face.

use super::search::{AnswerFields, ConstraintFields, SoundFields};
use crate::error::{InputError, Result};
use crate::model::{self, Study, Valid};
use crate::search::{Answer, Figures, Handle, Options, by_law, evaluate, figures, optimise_splays};
use crate::threads;
use pyo3::prelude::*;
use pyo3::types::PyDict;
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

/// A study that is refused: an input error as data.
#[derive(IntoPyObject)]
struct RefusedRow {
    seconds: f64,
    ended: &'static str,
    error_field: String,
    error_text: String,
}

#[derive(IntoPyObject)]
struct AnswerRow {
    seconds: f64,
    ended: &'static str,
    cabinets: usize,
    splays_deg: Vec<f64>,
    tilt_deg: f64,
    top_m: f64,
    trim_m: f64,
    pick_x_m: Vec<f64>,
    gains_db: Vec<f64>,
    objective_db: f64,
    straight_objective_db: f64,
    mass_kg: f64,
    hoist_load_n: Vec<f64>,
    closing_force_n: Option<f64>,
    greatest_utilisation: Option<f64>,
    greatest_part: Option<(&'static str, Option<usize>)>,
    limits_not_stated: usize,
    missed: Vec<ConstraintFields>,
    evaluations: u64,
}

/// One study's row as a dictionary; an input that is refused becomes the row's error.
fn row<'py>(py: Python<'py>, outcome: &Outcome, whole: bool) -> PyResult<Bound<'py, PyDict>> {
    let seconds = outcome.seconds;
    let (answer, figures) = match &outcome.answer {
        Ok(both) => both,
        Err(error) => {
            let refused = RefusedRow {
                seconds,
                ended: "refused",
                error_field: error.field.clone(),
                error_text: error.to_string(),
            };
            return refused.into_pyobject(py);
        }
    };
    let greatest = figures.greatest;
    let missed = answer.margins.iter().filter(|margin| margin.margin < 0.0);
    let row = AnswerRow {
        seconds,
        ended: answer.ended.name(),
        cabinets: answer.hang.cabinets.len(),
        splays_deg: answer.hang.splays_deg.clone(),
        tilt_deg: answer.tilt_deg,
        top_m: answer.top_m,
        trim_m: figures.trim_m,
        pick_x_m: answer.pick_x_m.clone(),
        gains_db: answer.gains_db.clone(),
        objective_db: answer.objective_db,
        straight_objective_db: answer.straight_objective_db,
        mass_kg: figures.mass_kg,
        hoist_load_n: figures.hoist_load_n.clone(),
        closing_force_n: answer.closing_force_n,
        greatest_utilisation: greatest.and_then(|part| part.utilisation()),
        greatest_part: greatest.map(|row| row.part.kind()),
        limits_not_stated: figures.not_stated,
        missed: missed.map(|margin| margin.constraint.into()).collect(),
        evaluations: answer.evaluations,
    };
    let row = row.into_pyobject(py)?;
    let sound = SoundFields::from(&answer.sound).into_pyobject(py)?;
    row.update(sound.as_mapping())?;
    if whole {
        row.set_item("search", AnswerFields::of(py, answer)?)?;
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

/// Studies on the threads of the core, one study per thread.
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
