//! Python dictionaries to checked types and back.

use crate::error::{InputError, Result};
use crate::model::{self, Check, Document, Tree, Valid};
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyDict, PyFloat, PyList, PyTuple};
use serde::de::DeserializeOwned;

fn read<T: DeserializeOwned + Check>(data: &Bound<'_, PyAny>) -> Result<Valid<T>> {
    Valid::new(tree(data).typed()?)
}

/// What Python handed over as plain data; what is none keeps the name of its type.
fn tree(data: &Bound<'_, PyAny>) -> Tree {
    if data.is_none() {
        Tree::Nothing
    } else if let Ok(truth) = data.cast::<PyBool>() {
        Tree::Truth(truth.is_true())
    } else if let Ok(number) = data.cast::<PyFloat>() {
        Tree::Number(number.value())
    } else if let Ok(text) = data.extract::<String>() {
        Tree::Text(text)
    } else if let Ok(fields) = data.cast::<PyDict>() {
        let fields = fields.iter();
        Tree::Record(
            fields
                .map(|(name, value)| (name.to_string(), tree(&value)))
                .collect(),
        )
    } else if let Ok(items) = data.cast::<PyList>() {
        Tree::List(items.iter().map(|item| tree(&item)).collect())
    } else if let Ok(items) = data.cast::<PyTuple>() {
        Tree::List(items.iter().map(|item| tree(&item)).collect())
    } else if let Ok(number) = data.extract::<u64>() {
        Tree::Whole(number)
    } else if let Ok(number) = data.extract::<i64>() {
        Tree::Below(number)
    } else if let Ok(number) = data.extract::<f64>() {
        Tree::Number(number)
    } else {
        Tree::Other(data.get_type().to_string())
    }
}

/// Checks the fields of one part of a hang, venue or study.
#[pyfunction]
fn check(kind: &str, data: &Bound<'_, PyAny>) -> Result<()> {
    match kind {
        "cabinet" => read::<model::Cabinet>(data).map(drop),
        "source" => read::<model::Source>(data).map(drop),
        "balloon" => read::<model::Balloon>(data).map(drop),
        "line_element" => read::<model::LineElement>(data).map(drop),
        "fly_frame" => read::<model::FlyFrame>(data).map(drop),
        "bottom_frame" => read::<model::BottomFrame>(data).map(drop),
        "closing_gear" => read::<model::ClosingGear>(data).map(drop),
        "piece" => read::<model::Piece>(data).map(drop),
        "run" => read::<model::Run>(data).map(drop),
        "quiet_place" => read::<model::QuietPlace>(data).map(drop),
        "sight_line" => read::<model::SightLine>(data).map(drop),
        "wanted_level" => read::<model::WantedLevel>(data).map(drop),
        "goals" => read::<model::Goals>(data).map(drop),
        "site" => read::<model::Site>(data).map(drop),
        "neighbour" => read::<model::Neighbour>(data).map(drop),
        "surface" => read::<model::Surface>(data).map(drop),
        "seat_area" => read::<model::SeatArea>(data).map(drop),
        _ => Err(InputError::new("kind", kind, "a part of a hang or venue")),
    }
}

macro_rules! document {
    ($name:ident, $inner:ty) => {
        /// A checked value held by the core.
        #[pyclass(frozen, module = "hangarc._core")]
        pub(super) struct $name(pub(super) Valid<$inner>);

        #[pymethods]
        impl $name {
            #[new]
            fn new(data: &Bound<'_, PyAny>) -> Result<Self> {
                read(data).map(Self)
            }

            /// The versioned JSON text.
            fn to_json(&self) -> String {
                model::to_json(&self.0)
            }

            /// The fields of a JSON text as a dictionary.
            #[staticmethod]
            fn fields_of_json<'py>(py: Python<'py>, text: &str) -> PyResult<Bound<'py, PyAny>> {
                fields_of_json::<$inner>(py, text)
            }
        }
    };
}

fn fields_of_json<'py, T: Document>(py: Python<'py>, text: &str) -> PyResult<Bound<'py, PyAny>> {
    let document: Valid<T> = model::from_json(text)?;
    Ok(pythonize::pythonize(py, &document.into_inner())?)
}

document!(Air, model::Air);
document!(Hang, model::Hang);
document!(Venue, model::Venue);
document!(Study, model::Study);

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(check, module)?)?;
    module.add_class::<Air>()?;
    module.add_class::<Hang>()?;
    module.add_class::<Venue>()?;
    module.add_class::<Study>()
}
