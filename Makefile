# Everything the project does, from a fresh clone. Needs Python 3.11+, git and make.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.feltload-ready
# What the program itself needs; the tools of development are several times as much.
RUNS := $(VENV)/.feltload-runs
# Two workers suit the smallest machine that is supported; real-time tests spend most of their time waiting.
WORKERS ?= 2

.PHONY: demo test quick lint types layers graph unit system sources notebooks mutants docs docs-links clean help

help:
	@echo "make demo      measure an emulated machine and write its report (about two minutes, installation included)"
	@echo "make test      style, types, layers, all tests, and the documents"
	@echo "make quick     style, types, layers and the tests of the rooms that changed since main"
	@echo "make lint | types | layers | unit    one part of it"
	@echo "make graph LAYER=signal    what imports what between the rooms of a layer, as DOT for dot -Tsvg"
	@echo "make mutants ROOM=signal/clock    which small changes to a room its tests do not notice"
	@echo "make sources   write docs/sources.md from tests/published"
	@echo "make notebooks   execute docs/examples/*.py and write them as notebooks beside"
	@echo "make docs      the documents as HTML in docs/_build/html, with every warning an error and internal links checked"
	@echo "make clean     remove the virtual environment and what the tools left"

$(RUNS): pyproject.toml tools/check_python.sh
	@sh tools/check_python.sh "$(PYTHON)"
	@echo "feltload: making $(VENV) and installing the program with its libraries; each is named as it comes"
	@$(PYTHON) -m venv $(VENV)
	@PYTHONUNBUFFERED=1 $(BIN)/python -m pip install --upgrade "pip>=24" | sh tools/install_progress.sh
	@PYTHONUNBUFFERED=1 $(BIN)/python -m pip install -e . | sh tools/install_progress.sh
	@$(BIN)/feltload --version >/dev/null && touch $(RUNS)

$(STAMP): $(RUNS)
	@echo "feltload: installing the tools of development as well"
	@PYTHONUNBUFFERED=1 $(BIN)/python -m pip install -e ".[dev]" | sh tools/install_progress.sh
	@$(BIN)/ruff --version >/dev/null && touch $(STAMP)

demo: $(RUNS)
	$(BIN)/feltload demo --out feltload-demo --force-overwrite

test: lint types layers unit docs

lint: $(STAMP)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(STAMP)
	$(BIN)/mypy

layers: $(STAMP)
	$(BIN)/lint-imports

sources: $(STAMP)
	$(BIN)/python tools/sources_page.py

notebooks: $(STAMP)
	OPENBLAS_NUM_THREADS=1 $(BIN)/python tools/notebooks.py

# Internal links are checked by the build (-W). External ones need a network, so only by hand: make docs-links
docs: $(STAMP)
	$(BIN)/python -m sphinx -W --keep-going -q -b html docs docs/_build/html
	@echo "open docs/_build/html/index.html"

docs-links: $(STAMP)
	$(BIN)/python -m sphinx -q -b linkcheck docs docs/_build/links

N ?= 20
SEED ?= 1
mutants: $(STAMP)
	OPENBLAS_NUM_THREADS=1 $(BIN)/python tools/mutants.py $(ROOM) --per-module $(N) --seed $(SEED)

# Between the rooms of one layer; a room's modules with PACKAGE=feltload.signal.hinge.
PACKAGE ?= feltload.$(or $(LAYER),signal)
graph: $(STAMP)
	@$(BIN)/import-linter drawgraph $(PACKAGE)

quick: lint types layers
	@tests=$$($(BIN)/python tools/changed_tests.py) && if [ -z "$$tests" ]; then echo "nothing changed that a test covers"; \
	else OPENBLAS_NUM_THREADS=1 OMP_NUM_THREADS=1 $(BIN)/python -m pytest -q -n $(WORKERS) --dist loadfile $$tests; fi

system:
	@sh tools/system_packages.sh

unit: $(STAMP) system
	OPENBLAS_NUM_THREADS=1 OMP_NUM_THREADS=1 $(BIN)/python -m pytest -n $(WORKERS) --dist loadfile

clean:
	rm -rf $(VENV) feltload-demo docs/_build docs/api docs/pictures dist build .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
