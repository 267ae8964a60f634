# Every target sets up what it needs in ./.venv and works on a fresh clone.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
SOURCES := Cargo.toml Cargo.lock pyproject.toml README.md LICENSE $(shell find src python -type f \
	-not -name '*.so' -not -name '*.pyc')
PYTHON_CODE := python tests benches docs

.PHONY: demo lessons test references test-rust test-python campaign fuzz memory lint audit format bench docs clean

# Answers the demo study: prints the hang sheet and writes it with its pictures to ./out.
demo: $(VENV)/.installed-demo
	$(BIN)/python -m hangarc study --demo --out out

# Everything a change has to pass; .ci/run calls it.
test: lint references test-rust test-python

# The core by itself, with no Python present; the same random cases in every run.
test-rust:
	PROPTEST_RNG_SEED=1 cargo test --no-default-features --features schema

# The Python face, the outside checks, and every notebook.
test-python: $(VENV)/.installed-dev
	$(BIN)/pytest -n logical --dist loadfile -m "not alone"
	$(BIN)/pytest -m alone

# Checks on hundreds of random cases of which `make test` takes a sample.
campaign: $(VENV)/.installed-dev
	HANGARC_CAMPAIGN=1 $(BIN)/pytest tests/python/test_wind_rest.py \
		tests/python/test_search_constraints.py
	PROPTEST_CASES=5000 cargo test --release --no-default-features --lib

# Hostile values over the public face and the core for most of an hour; `make test` takes a sample.
fuzz: $(VENV)/.installed-dev
	HANGARC_FUZZ_S=1800 $(BIN)/pytest tests/python/test_fuzz.py
	PROPTEST_CASES=100000 cargo test --release --no-default-features --test fuzz

# The address sanitizer on the code with unsafe blocks; it is built in, but not yet stable.
memory:
	RUSTC_BOOTSTRAP=1 RUSTFLAGS=-Zsanitizer=address cargo test --no-default-features --lib \
		--target x86_64-unknown-linux-gnu --target-dir target/memory -- acoustics::field threads

lint: $(VENV)/.installed-dev
	cargo fmt --check
	cargo clippy --no-default-features -- -D warnings
	cargo clippy --all-targets --all-features -- -D warnings
	$(BIN)/ruff check $(PYTHON_CODE)
	$(BIN)/ruff format --check $(PYTHON_CODE)
	$(BIN)/mypy
	$(BIN)/python -m mypy.stubtest hangarc._core
	$(BIN)/python tests/python/typed_user.py docs/build/typed
	$(BIN)/mypy --strict docs/build/typed/names.py docs/build/typed/examples.py

# Licences, sources and doubled crates; known flaws of what is installed (needs PyPI's JSON pages).
audit: $(VENV)/.installed-dev
	cargo install --locked cargo-deny
	cargo deny check licenses bans sources
	$(BIN)/pip install --quiet pip-audit
	$(BIN)/pip-audit --skip-editable

format: $(VENV)/.installed-dev
	cargo fmt
	$(BIN)/ruff check --fix $(PYTHON_CODE)
	$(BIN)/ruff format $(PYTHON_CODE)

# Runs every lesson and note and stores what it shows.
lessons: $(VENV)/.installed-dev
	$(BIN)/jupyter execute --inplace --NotebookClient.record_timing=False notebooks/*.ipynb docs/notes/*.ipynb

# Ratios against named baselines; on a quiet machine.
bench: $(VENV)/.installed-bench
	cargo bench --no-default-features
	set -e; for script in $(wildcard benches/*.py); do echo "$$script"; $(BIN)/python "$$script"; done

# What the site can go wrong in, and nothing written: every page is read, warnings are errors.
references: $(VENV)/.installed-dev
	RUSTDOCFLAGS="-D warnings" cargo doc --no-deps --no-default-features
	$(BIN)/python -m sphinx -q -W --keep-going -b dummy -d docs/build/read docs docs/build/dummy

# The site, in docs/build/site: the tests write its table of outside checks; warnings are errors, and
# each link between its pages is followed.
docs: $(VENV)/.installed-dev
	RUSTDOCFLAGS="-D warnings" cargo doc --no-deps --no-default-features
	rm -rf docs/build/site
	mkdir -p docs/build/site
	cp -r target/doc docs/build/site/rust
	rm -f docs/build/outside.jsonl
	HANGARC_OUTSIDE=$(CURDIR)/docs/build/outside.jsonl $(BIN)/pytest -m outside tests/python
	$(BIN)/python -m sphinx -q -W --keep-going -b html -d docs/build/written docs docs/build/site
	$(BIN)/python docs/links.py docs/build/site

$(BIN)/python:
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --upgrade pip

$(VENV)/.installed-demo: $(BIN)/python $(SOURCES)
	$(BIN)/pip install --quiet '.[sheet,io]'
	touch $@

$(VENV)/.installed-dev: $(BIN)/python $(SOURCES)
	$(BIN)/pip install --quiet '.[dev]'
	touch $@ $(VENV)/.installed-demo

$(VENV)/.installed-bench: $(BIN)/python $(SOURCES)
	$(BIN)/pip install --quiet '.[bench]'
	touch $@

clean:
	rm -rf $(VENV) target out docs/build
