# Everything is set up by what is asked for: `make demo` and `make test` need only python3 (3.11 or newer) with venv and pip.
PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
STAMP  := $(VENV)/.set-up
export PIP_DISABLE_PIP_VERSION_CHECK := 1

.PHONY: setup demo test lint format bench docs clean

setup: $(STAMP)

# set up again only when the lock or the packaging changes
$(STAMP): requirements/dev.txt pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit("Marotte needs Python 3.11 or newer, this is " + sys.version.split()[0]) if sys.version_info < (3, 11) else None'
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements/dev.txt
	$(BIN)/python -m pip install --quiet --no-deps --no-build-isolation -e .
	@touch $@

demo: setup
	@$(BIN)/marotte demo

lint: setup
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

format: setup
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

test: lint
	$(BIN)/pytest -n 2

bench: setup
	@mkdir -p build
	$(BIN)/python -m benchmarks

docs: setup
	$(BIN)/python -m marotte.creature.publish
	$(BIN)/python -m marotte.creature.stock_page
	$(BIN)/python -m marotte.verdict.publish

clean:
	rm -rf $(VENV) build dist .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis
	find src -path '*/__pycache__/*' \( -name '*.nbi' -o -name '*.nbc' \) -delete
