# The user's commands. Everything is installed into .venv, at the versions in requirements/.

PYTHON ?= $(shell command -v python3.11 || command -v python3)
PORT ?= 8117
OPEN ?= 1
WORKERS ?= 2
BIN := .venv/bin
PYTEST := $(BIN)/python -m pytest -n $(WORKERS) --dist loadgroup --durations=15

.PHONY: demo serve test test-slow lint bench fresh browser postgres ngspice clean

## make demo [PORT=8117] [OPEN=0]: the site with the demonstration sets in it
demo: .venv/.with-run
	@exec $(BIN)/setwright demo --port $(PORT) $(if $(filter 0 no false,$(OPEN)),--no-open)

## make serve [PORT=8117]: the site with your own sets
serve: .venv/.with-run
	@exec $(BIN)/setwright serve --port $(PORT)

## make test: the proof, under ten minutes on two cores; the keeping of records on PostgreSQL as well
test: .venv/.with-test browser postgres ngspice
	$(PYTEST) -m "not slow"
	scripts/with-postgres $(PYTEST) -m "not slow" tests/workbench/records tests/workbench/search tests/workbench/storage/on_postgres

## make test-slow: the long runs, and all tests of the workbench on PostgreSQL
test-slow: .venv/.with-test browser postgres ngspice
	$(PYTEST) -m slow
	scripts/with-postgres $(PYTEST) -m "not slow" tests/workbench

## make lint: style, types and the direction of imports
lint: .venv/.with-lint
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

## make bench: speed and memory, with the comparisons
bench: .venv/.with-bench
	$(BIN)/python benchmarks/identify.py
	$(BIN)/python benchmarks/million.py
	$(BIN)/python benchmarks/sampler.py
	$(BIN)/python benchmarks/looks.py --exact
	$(BIN)/python benchmarks/chronology.py
	$(BIN)/python benchmarks/circuits.py
	$(BIN)/python benchmarks/search.py
	$(BIN)/python benchmarks/workbench.py

## make fresh: clones the project and runs the README's two commands there
fresh:
	scripts/fresh-clone

browser:
	@scripts/get-browser

ngspice:
	@scripts/get-ngspice

postgres:
	@scripts/get-postgres

clean:
	rm -rf .venv .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis build dist

.venv/.with-run: pyproject.toml requirements/constraints.txt
	@scripts/install "$(PYTHON)" run

.venv/.with-test: pyproject.toml requirements/constraints.txt
	@scripts/install "$(PYTHON)" test

.venv/.with-lint: pyproject.toml requirements/constraints.txt
	@scripts/install "$(PYTHON)" lint

.venv/.with-bench: pyproject.toml requirements/constraints.txt requirements/constraints-bench.txt
	@scripts/install "$(PYTHON)" bench
