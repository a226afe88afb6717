# make demo | test | check | run | pictures | bench | faults | lock | clean. Each sets up what it needs.
#   PY=python3.12      another Python (3.11 to 3.13)
#   VENV=.venv-3.12    another place for what is installed
#   ARGS="-k dosing"   passed on to the program that the target runs
PY ?= python3
VENV ?= .venv
FORM ?= long
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip install -q --require-hashes --no-deps --only-binary :all:
LOCK := $(BIN)/uv pip compile -q --universal --python-version 3.11 --generate-hashes --no-header --no-emit-index-url $(ARGS)
export PIP_DISABLE_PIP_VERSION_CHECK := 1
.PHONY: help demo run test check pictures bench faults lock install clean
.DELETE_ON_ERROR:

help:
	@sed -n '1,/^PY/s/^# *//p' Makefile

$(BIN)/python:
	@$(PY) -c 'import sys; sys.exit(not (3, 11) <= sys.version_info < (3, 14))' || { echo "Python 3.11, 3.12 or 3.13 is needed: make PY=python3.11 ..."; exit 1; }
	@$(PY) -m venv $(VENV) || { rm -rf $(VENV); echo "No virtual environment could be made: on Debian and Ubuntu, install python3-venv."; exit 1; }

$(VENV)/.run: requirements.txt | $(BIN)/python
	@echo "Installing what the program needs (the first time takes a minute or more) ..."
	@$(PIP) -r requirements.txt && touch $@
$(VENV)/.test: requirements-test.txt $(VENV)/.run
	@echo "Installing what the tests need ..."
	@$(PIP) -r requirements-test.txt && touch $@
$(VENV)/.dev: requirements-dev.txt $(VENV)/.test
	@echo "Installing what the checks need ..."
	@$(PIP) -r requirements-dev.txt && touch $@

demo: $(VENV)/.run  ## an invented practice, to look round in
	@$(BIN)/python manage.py serve --demo $(ARGS)

run: $(VENV)/.run  ## your own practice
	@$(BIN)/python manage.py serve $(ARGS)

test: $(VENV)/.test
	$(BIN)/python -m pytest -n auto --dist loadfile $(ARGS)

pictures: $(VENV)/.test  ## of every page, to look at
	PICTURES=pictures $(BIN)/python -m pytest tests/browser/pages -n auto --dist loadfile $(ARGS)

bench: $(VENV)/.test  ## how fast it is, printed
	$(BIN)/python -m tests.bench $(ARGS)

faults: $(VENV)/.test  ## what breaks in a machine room, done to real processes; writes README's table (FORM=short: prints only)
	rm -f .faults.jsonl
	FAULTS=$(FORM) FAULTS_TABLE=.faults.jsonl $(BIN)/python -m pytest tests/faults -m faults $(if $(filter long,$(FORM)),,-n 3) $(ARGS)
	$(if $(filter long,$(FORM)),FAULTS=long FAULTS_TABLE=.faults.jsonl $(BIN)/python -m tests.faults.table README.md)

install: $(VENV)/.dev

TEMPLATES = $(shell find clinic followup -name '*.html' -o -name '*.txt' -path '*/templates/*')

check: $(VENV)/.dev
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy .
	$(BIN)/lint-imports
	$(BIN)/python manage.py check
	$(BIN)/python manage.py makemigrations --check --dry-run
	$(if $(TEMPLATES),$(BIN)/djlint --lint --quiet $(TEMPLATES))
	$(if $(TEMPLATES),$(BIN)/djade --target-version 5.2 --check $(TEMPLATES))

lock: $(VENV)/.dev  ## after a change to a .in file; ARGS=--upgrade takes newer versions
	$(LOCK) requirements.in -o requirements.txt
	$(LOCK) requirements-test.in -o requirements-test.txt
	$(LOCK) requirements-dev.in -o requirements-dev.txt

clean:
	rm -rf $(VENV) .faults.jsonl .mypy_cache .ruff_cache .pytest_cache .import_linter_cache
