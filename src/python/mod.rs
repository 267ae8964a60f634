//! The Python face's lower half: conversion and nothing else.

mod acoustics;
mod arrays;
mod balloon;
mod building;
mod closing;
mod error;
mod let_off;
mod model;
mod pose;
mod search;
mod seating;
mod statics;
mod suspension;
mod sweep;
mod threads;
mod wind;

use pyo3::prelude::*;

#[pymodule]
fn _core(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("__version__", env!("CARGO_PKG_VERSION"))?;
    acoustics::register(module)?;
    balloon::register(module)?;
    building::register(module)?;
    closing::register(module)?;
    error::register(module)?;
    let_off::register(module)?;
    model::register(module)?;
    pose::register(module)?;
    seating::register(module)?;
    statics::register(module)?;
    search::register(module)?;
    suspension::register(module)?;
    sweep::register(module)?;
    threads::register(module)?;
    wind::register(module)?;
    Ok(())
}
