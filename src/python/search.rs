//! The splay search at the Python face.

use super::acoustics::mids_hz;
use super::arrays::Array;
use super::model::Study;
use super::statics::{LimitFields, limit_rows};
use crate::error::{Result, positive};
use crate::model::OffSeatsKind;
use crate::search::{
    Against, Answer, Constraint, Handle, Now, Options, Range, Sound,
    electronics as core_electronics, evaluate as core_evaluate, one_hole,
    optimise_splays as core_search, trade_off as core_trade_off, turn as core_turn,
};
use pyo3::exceptions::{PyKeyboardInterrupt, PyRuntimeError};
use pyo3::prelude::*;
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
) -> PyResult<AnswerFields<'py>> {
    let options = Options {
        seed,
        prove,
        budget_evaluations,
    };
    let budget = budget_s.map(seconds).transpose()?;
    let handle = Handle::until(budget.and_then(|budget| Instant::now().checked_add(budget)));
    let (outcome, interrupt) = watched(py, &handle, progress.as_ref(), || {
        core_search(&study.0, options, &handle)
    })?;
    with_best(py, interrupt, AnswerFields::of(py, &outcome?)?)
}

/// What was found; after an interrupt it is raised as the interrupt's attribute `best`.
fn with_best<'py, T: IntoPyObject<'py>>(
    py: Python<'py>,
    interrupt: Option<PyErr>,
    best: T,
) -> PyResult<T> {
    let Some(interrupt) = interrupt else {
        return Ok(best);
    };
    interrupt.value(py).setattr("best", best)?;
    Err(interrupt)
}

#[derive(IntoPyObject)]
struct ElectronicsFields {
    gains_db: Array,
    band_hz: Array,
    filter_db: Array,
    unevenness_before_db: f64,
    mean_before_db: f64,
    unevenness_db: f64,
    mean_db: f64,
    ended: &'static str,
}

/// Gains and a filter for the study's hang with its pins as they are.
#[pyfunction]
fn electronics(
    py: Python<'_>,
    study: &Study,
    tilt_deg: f64,
    top_m: f64,
    least_gain_db: f64,
    most_filter_db: f64,
) -> Result<ElectronicsFields> {
    let study = &study.0;
    let found =
        py.detach(|| core_electronics(study, tilt_deg, top_m, least_gain_db, most_filter_db))?;
    let [before_db, after_db] = [found.before_db, found.after_db];
    Ok(ElectronicsFields {
        gains_db: found.gains_db.into(),
        band_hz: mids_hz(found.bands.into_iter()),
        filter_db: found.filter_db.into(),
        unevenness_before_db: before_db[0],
        mean_before_db: before_db[1],
        unevenness_db: after_db[0],
        mean_db: after_db[1],
        ended: if found.converged {
            "settled"
        } else {
            "budget spent"
        },
    })
}

#[derive(IntoPyObject)]
struct TurnFields {
    splays_deg: Vec<f64>,
    hang_json: String,
    tilt_deg: f64,
    top_m: f64,
    pick_x_m: Vec<f64>,
    objective_db: [f64; 2],
    feasible: [bool; 2],
}

/// One turn of a hang among others; `now` is its tilt and top, where it hangs already.
#[pyfunction]
#[pyo3(signature = (study, now, seed, progress))]
fn turn(
    py: Python<'_>,
    study: &Study,
    now: Option<(f64, f64)>,
    seed: u64,
    progress: Option<Bound<'_, PyAny>>,
) -> PyResult<TurnFields> {
    let handle = Handle::default();
    let now = now.map(|(tilt_deg, top_m)| Now { tilt_deg, top_m });
    let (outcome, interrupt) = watched(py, &handle, progress.as_ref(), || {
        core_turn(&study.0, now, seed, &handle)
    })?;
    if let Some(interrupt) = interrupt {
        return Err(interrupt);
    }
    let found = outcome?;
    Ok(TurnFields {
        splays_deg: found.hang.splays_deg.clone(),
        hang_json: crate::model::to_json(&found.hang),
        tilt_deg: found.tilt_deg,
        top_m: found.top_m,
        pick_x_m: found.pick_x_m,
        objective_db: found.objective_db,
        feasible: found.feasible,
    })
}

/// The answer of a study with its pins as they are.
#[pyfunction]
fn evaluate<'py>(py: Python<'py>, study: &Study) -> PyResult<AnswerFields<'py>> {
    let handle = Handle::default();
    let (outcome, interrupt) = watched(py, &handle, None, || core_evaluate(&study.0, &handle))?;
    with_best(py, interrupt, AnswerFields::of(py, &outcome?)?)
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

/// A constraint as data; its words are left to the face.
#[derive(IntoPyObject)]
pub(super) struct ConstraintFields {
    kind: &'static str,
    number: Option<usize>,
    part: Option<&'static str>,
}

impl From<Constraint> for ConstraintFields {
    fn from(constraint: Constraint) -> Self {
        let (kind, number) = constraint.kind();
        let part = constraint.part().map(|part| part.kind().0);
        Self { kind, number, part }
    }
}

#[derive(IntoPyObject)]
struct BeyondFields {
    variable: &'static str,
    end: f64,
    next: f64,
    objective_change_db: f64,
    missed: Option<ConstraintFields>,
}

#[derive(IntoPyObject)]
struct CountFields {
    cabinets: usize,
    objective_db: f64,
    feasible: bool,
}

#[derive(IntoPyObject)]
struct MarginFields {
    kind: &'static str,
    number: Option<usize>,
    part: Option<&'static str>,
    value: f64,
    bound: f64,
    margin: f64,
}

#[derive(IntoPyObject)]
pub(super) struct AnswerFields<'py> {
    ended: &'static str,
    hang: Bound<'py, PyAny>,
    splays_deg: Array,
    tilt_deg: f64,
    top_m: f64,
    pick_x_m: Array,
    gains_db: Array,
    objective_db: f64,
    least_objective_db: f64,
    runs_db: Array,
    beyond: Vec<BeyondFields>,
    sound: SoundFields,
    closing_force_n: Option<f64>,
    straight_objective_db: f64,
    straight_sound: SoundFields,
    straight_tilt_deg: f64,
    straight_top_m: f64,
    evaluations: u64,
    limits: Vec<LimitFields>,
    counts: Vec<CountFields>,
    margins: Vec<MarginFields>,
    nearest_study: Option<Bound<'py, PyAny>>,
}

impl<'py> AnswerFields<'py> {
    pub fn of(py: Python<'py>, answer: &Answer) -> PyResult<Self> {
        let beyond = answer.beyond.iter().map(|end| BeyondFields {
            variable: match end.range {
                Range::Tilt => "tilt_deg",
                Range::Top => "top_m",
            },
            end: end.end,
            next: end.next,
            objective_change_db: end.objective_change_db,
            missed: end.missed.map(ConstraintFields::from),
        });
        let counts = answer.counts.iter().map(|count| CountFields {
            cabinets: count.cabinets,
            objective_db: count.objective_db,
            feasible: count.feasible,
        });
        let margins = answer.margins.iter().map(|margin| {
            let ConstraintFields { kind, number, part } = margin.constraint.into();
            MarginFields {
                kind,
                number,
                part,
                value: margin.value,
                bound: margin.bound,
                margin: margin.margin,
            }
        });
        let nearest = answer.nearest_study.as_deref();
        let nearest = nearest.map(|study| pythonize::pythonize(py, study));
        Ok(Self {
            ended: answer.ended.name(),
            hang: pythonize::pythonize(py, &*answer.hang)?,
            splays_deg: answer.hang.splays_deg.as_slice().into(),
            tilt_deg: answer.tilt_deg,
            top_m: answer.top_m,
            pick_x_m: answer.pick_x_m.as_slice().into(),
            gains_db: answer.gains_db.as_slice().into(),
            objective_db: answer.objective_db,
            least_objective_db: answer.least_objective_db,
            runs_db: answer.runs_db.as_slice().into(),
            beyond: beyond.collect(),
            sound: SoundFields::from(&answer.sound),
            closing_force_n: answer.closing_force_n,
            straight_objective_db: answer.straight_objective_db,
            straight_sound: SoundFields::from(&answer.straight_sound),
            straight_tilt_deg: answer.straight_tilt_deg,
            straight_top_m: answer.straight_top_m,
            evaluations: answer.evaluations,
            limits: limit_rows(&answer.limits),
            counts: counts.collect(),
            margins: margins.collect(),
            nearest_study: nearest.transpose()?,
        })
    }
}

#[derive(IntoPyObject)]
struct OffSeatsFields {
    kind: &'static str,
    index: Option<usize>,
    position_m: Array,
    level_db: f64,
}

#[derive(IntoPyObject)]
struct ConditionFields {
    air: usize,
    off: bool,
    objective_db: f64,
    spread_db: f64,
    mean_db: f64,
}

#[derive(IntoPyObject)]
pub(super) struct SoundFields {
    unevenness_db: f64,
    band_hz: Array,
    band_spread_db: Array,
    band_mean_db: Array,
    mean_db: f64,
    spectral_spread_db: f64,
    share_3_db_below: f64,
    share_6_db_below: f64,
    evenness_db: f64,
    roughness_deg: f64,
    off_seats_db: Option<f64>,
    off_seats: Vec<OffSeatsFields>,
    conditions: Vec<ConditionFields>,
}

impl From<&Sound> for SoundFields {
    fn from(sound: &Sound) -> Self {
        let measures = &sound.measures;
        let off_seats = sound.off_seats.iter().map(|row| {
            let (kind, index) = match row.place.kind {
                OffSeatsKind::Behind(area) => ("behind the last row", Some(area)),
                OffSeatsKind::FrontEdge(area) => ("front edge", Some(area)),
                OffSeatsKind::Stage => ("stage", None),
                OffSeatsKind::Named(index) => ("named", Some(index)),
            };
            OffSeatsFields {
                kind,
                index,
                position_m: row.place.place_m.as_slice().into(),
                level_db: row.level_db,
            }
        });
        let conditions = sound.conditions.iter().map(|row| ConditionFields {
            air: row.air,
            off: row.off,
            objective_db: row.objective_db,
            spread_db: row.spread_db,
            mean_db: row.mean_db,
        });
        Self {
            unevenness_db: measures.unevenness_db,
            band_hz: mids_hz(sound.bands.iter().copied()),
            band_spread_db: measures.band_spread_db.as_slice().into(),
            band_mean_db: measures.band_mean_db.as_slice().into(),
            mean_db: measures.mean_db,
            spectral_spread_db: measures.spectral_spread_db,
            share_3_db_below: measures.share_3_db_below,
            share_6_db_below: measures.share_6_db_below,
            evenness_db: sound.evenness_db,
            roughness_deg: sound.roughness_deg,
            off_seats_db: sound.off_seats_db,
            off_seats: off_seats.collect(),
            conditions: conditions.collect(),
        }
    }
}

/// What a study wants at each seat of its venue, 0 where the same is wanted everywhere.
#[pyfunction]
#[pyo3(name = "wanted_db")]
fn wanted_at_seats(study: &Study) -> Array {
    let seats = study.0.venue.seats();
    let wanted_db = crate::search::wanted_db(&study.0, &seats);
    wanted_db.unwrap_or_else(|| vec![0.0; seats.len()]).into()
}

#[derive(IntoPyObject)]
struct HoleFields {
    joint: usize,
    from_deg: f64,
    to_deg: f64,
    objective_change_db: f64,
    spread_change_db: f64,
    mean_change_db: f64,
    closing_force_change_n: Option<f64>,
    joint_force_change_n: f64,
    missed: Option<ConstraintFields>,
}

#[pyfunction]
fn one_hole_table(
    py: Python<'_>,
    study: &Study,
    tilt_deg: f64,
    top_m: f64,
) -> Result<Vec<HoleFields>> {
    let found = py.detach(|| one_hole(&study.0, tilt_deg, top_m))?;
    let rows = found.into_iter().map(|found| HoleFields {
        joint: found.joint,
        from_deg: found.from_deg,
        to_deg: found.to_deg,
        objective_change_db: found.objective_change_db,
        spread_change_db: found.spread_change_db,
        mean_change_db: found.mean_change_db,
        closing_force_change_n: found.closing_force_change_n,
        joint_force_change_n: found.joint_force_change_n,
        missed: found.missed.map(ConstraintFields::from),
    });
    Ok(rows.collect())
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
) -> PyResult<Vec<AnswerFields<'py>>> {
    let options = Options {
        seed,
        prove: false,
        budget_evaluations,
    };
    let against = Against::named(against)?;
    let handle = Handle::default();
    let (outcome, interrupt) = watched(py, &handle, progress.as_ref(), || {
        core_trade_off(&study.0, against, points, options, &handle)
    })?;
    let front = outcome?.into_iter();
    let front = front.map(|answer| AnswerFields::of(py, &answer));
    with_best(py, interrupt, front.collect::<PyResult<_>>()?)
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
