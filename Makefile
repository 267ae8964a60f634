# Every target sets up what it needs in ./.venv and works on a fresh clone.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
SOURCES := $(shell find src -name '*.rs') Cargo.toml Cargo.lock pyproject.toml $(shell find python -name '*.py' -o -name '*.pyi' -o -name '*.json' -o -name '*.dxf')

.PHONY: demo test test-rust test-python lint bench docs clean

demo: $(VENV)/.installed-demo
	$(BIN)/python -m hangarc study --demo --out out

test: lint test-rust test-python

test-rust:
	cargo test --no-default-features

test-python: $(VENV)/.installed-dev
	$(BIN)/pytest

lint: $(VENV)/.installed-dev
	cargo fmt --check
	cargo clippy --all-targets --no-default-features -- -D warnings
	cargo clippy --all-targets --features python -- -D warnings
	$(BIN)/ruff check python tests benches
	$(BIN)/ruff format --check python tests benches
	$(BIN)/mypy
	$(BIN)/python -m mypy.stubtest hangarc._core

$(BIN)/python:
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --upgrade pip

$(VENV)/.installed-demo: $(BIN)/python $(SOURCES)
	$(BIN)/pip install --quiet '.[plot,io]'
	touch $@

$(VENV)/.installed-dev: $(BIN)/python $(SOURCES)
	$(BIN)/pip install --quiet '.[dev]'
	touch $@ $(VENV)/.installed-demo

clean:
	rm -rf $(VENV) target out
