# make demo   sets up and runs the main job on the sample data (SERVE=0: end after printing the verdicts)
# make test   sets up and runs the tests
# make check  format, lint, types and layers
PYTHON ?= $(shell command -v python3.11 || command -v python3.12 || command -v python3.13 || command -v python3)
VENV ?= .venv
BIN := $(VENV)/bin
PORT ?= 8050
DEMO_ARCHIVE ?= demo-archive

.PHONY: demo test check clean

demo: $(VENV)/ready
	$(BIN)/layakosh demo --archive $(DEMO_ARCHIVE) --port $(PORT) $(if $(filter 0,$(SERVE)),--no-serve)

test: $(VENV)/ready-to-develop
	$(BIN)/python -m pytest $(PYTEST_ARGS)

check: $(VENV)/ready-to-develop
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Layakosh needs Python 3.11 or newer; '$(PYTHON)' is older or missing. Name one: make PYTHON=/path/to/python3.11"; exit 2; }
	$(PYTHON) -m venv $(VENV) || \
	  { echo "The environment could not be made. On Debian and Ubuntu: apt-get install python3-venv"; rm -rf $(VENV); exit 2; }

$(VENV)/ready: pyproject.toml constraints.txt | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e .
	@touch $@

$(VENV)/ready-to-develop: pyproject.toml constraints.txt | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[dev]'
	@touch $@ $(VENV)/ready

clean:
	rm -rf $(VENV) $(DEMO_ARCHIVE) build *.egg-info
