# Every target does its own set-up: a virtual environment in .venv, the lock file, Chromium where a test needs it.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PACKAGES := pipeline schemas dashboards sample_data
SUDO := $(shell [ "$$(id -u)" = 0 ] || echo sudo)

.PHONY: demo test study bench lint types docs browser clean

demo: $(VENV)/runtime.stamp
	$(BIN)/areaway demo --out out

test: $(VENV)/dev.stamp browser
	$(BIN)/python -m pytest -n 2 --dist worksteal $(PYTEST_ARGS)

study: $(VENV)/dev.stamp
	$(BIN)/python tests/recovery/study.py

bench: $(VENV)/dev.stamp
	for file in tests/benchmarks/bench_*.py; do $(BIN)/python $$file || exit 1; done

lint: $(VENV)/dev.stamp
	$(BIN)/ruff check .

types: $(VENV)/dev.stamp
	$(BIN)/mypy

docs: $(VENV)/dev.stamp
	$(BIN)/python -m schemas.dictionary
	$(BIN)/python tests/repo/documents.py

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV) || ($(SUDO) apt-get update -qq && $(SUDO) apt-get install -y -qq python3-venv && $(PYTHON) -m venv $(VENV))

$(VENV)/runtime.stamp: requirements.lock pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --compile --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --no-deps --no-build-isolation -e .
	$(BIN)/python -m compileall -q $(PACKAGES)
	touch $@

$(VENV)/dev.stamp: requirements-dev.lock pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --compile --require-hashes -r requirements-dev.lock
	$(BIN)/python -m pip install --quiet --no-deps --no-build-isolation -e .
	$(BIN)/python -m compileall -q $(PACKAGES)
	touch $@

browser:
	command -v chromium >/dev/null || ($(SUDO) apt-get update -qq && $(SUDO) apt-get install -y -qq chromium)

clean:
	rm -rf $(VENV) out build *.egg-info .pytest_cache .mypy_cache .ruff_cache .hypothesis
