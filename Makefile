# Every target sets up what it needs on a machine with Python 3.11 or newer, make and the package
# registries, and a second run sets up nothing again.
#
#   make demo       play, score and explain a shipped session; the reports land in reports/
#   make console    run a mock resuscitation from a page in the browser on this machine
#   make test-fast  the tests of the core on few random examples: at most a minute
#   make test       all tests that a change must pass
#   make test-long  the same on many random examples and seeds, and fuzz: for hours
#   make fuzz       200,000 ruined files and requests for every reader and route, an hour or two
#   make torture    what a console has to survive: kills, full disks, clocks, half-open streams
#   make check      style, types and the direction of imports
#   make supply     the oldest packages that are allowed do the main job, on each Python that is here
#   make lock       which version of each package is installed, its licence, and a bill of materials
#   make docs       the documentation as a site in build/docs, with a reference of the functions
#   make bench      speed and memory, each beside a reference
#   make format     put style right
#
# PYTHON=… picks the interpreter, VENV=… the folder of the virtual environment, ARGS=… goes to pytest
# or to the console, JOBS=… is how many tests run beside each other (0: one, in make's own process).

SHELL := /bin/bash
VENV ?= .venv
BIN := $(VENV)/bin
PYTHON ?= $(shell for name in python3.11 python3.12 python3.13 python3.14 python3; do \
	$$name -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null && echo $$name && break; \
	done)
PIP_INSTALL := $(BIN)/python -m pip install --quiet --disable-pip-version-check

# As many at once as there are processors: at least two, for many a test waits, and at most eight,
# since each loads all packages and may start a database server.
JOBS ?= $(shell n=$$(nproc 2>/dev/null || echo 2); echo $$((n < 2 ? 2 : n > 8 ? 8 : n)))
PYTEST := $(BIN)/pytest --numprocesses=$(JOBS) --no-loadscope-reorder
CORE := tests/quantities tests/test_problems.py tests/scenario tests/session tests/scoring

.PHONY: demo console test-fast test test-long fuzz torture check supply lock docs bench format clean

demo: $(VENV)/.ready
	$(BIN)/simengine demo

console: $(VENV)/.ready
	$(BIN)/simengine console $(ARGS)

test-fast: $(VENV)/.ready-test
	$(PYTEST) --quiet --hypothesis-profile=few $(or $(ARGS),$(CORE))

test: $(VENV)/.ready-test
	tests/apt/install
	$(PYTEST) $(ARGS)

test-long: $(VENV)/.ready-test
	tests/apt/install
	$(PYTEST) --hypothesis-profile=many $(ARGS)
	$(BIN)/python -m tests.fuzz --jobs $(JOBS)
	$(BIN)/python -m tests.torture

fuzz: $(VENV)/.ready-test
	$(BIN)/python -m tests.fuzz --jobs $(JOBS) $(ARGS)

torture: $(VENV)/.ready-test
	$(BIN)/python -m tests.torture $(ARGS)

check: $(VENV)/.ready-test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

supply: $(VENV)/.ready-test
	PATH="$(abspath $(BIN)):$$PATH" $(BIN)/python tests/supply/lowest.py

lock: $(VENV)/.ready-test
	PATH="$(abspath $(BIN)):$$PATH" $(BIN)/python requirements/lock.py $(ARGS)

docs: $(VENV)/.ready-test
	$(BIN)/python docs/draw_architecture.py
	$(BIN)/python -m sphinx --fail-on-warning --keep-going -b html docs build/docs

bench: $(VENV)/.ready-test
	set -e; for file in benchmarks/bench_*.py; do name=$${file##*/}; $(BIN)/python -m benchmarks.$${name%.py}; done
	$(BIN)/python -m benchmarks.console
	$(BIN)/python -m benchmarks.many_sessions
	$(BIN)/python -m benchmarks.cohort

format: $(VENV)/.ready-test
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

clean:
	rm -rf $(VENV) .hypothesis .mypy_cache .pytest_cache .ruff_cache .import_linter_cache build dist

# Debian keeps venv's own pip in a package of its own: fetch it where that is possible.
$(BIN)/python:
	@test -n "$(PYTHON)" || { echo "Python 3.11 or newer is needed; name it with PYTHON=…" >&2; exit 1; }
	$(PYTHON) -m venv $(VENV) || { \
	  rm -rf $(VENV); \
	  test "$$(id -u)" = 0 && command -v apt-get >/dev/null || exit 1; \
	  apt-get update -q && apt-get install -q -y python3-venv && $(PYTHON) -m venv $(VENV); }

# Two stamps, so that the demo does not wait for the packages of the tests. What is installed is what
# requirements/ lists, each file held to its hash, and nothing else.
$(VENV)/.ready: pyproject.toml requirements/run.txt | $(BIN)/python
	$(PIP_INSTALL) --require-hashes -r requirements/run.txt
	$(PIP_INSTALL) --no-deps --no-build-isolation -e .
	touch $@

$(VENV)/.ready-test: pyproject.toml requirements/test.txt | $(BIN)/python
	$(PIP_INSTALL) --require-hashes -r requirements/test.txt
	$(PIP_INSTALL) --no-deps --no-build-isolation -e .
	touch $@ $(VENV)/.ready
