# Every target works on a fresh machine: Debian 12 with python3, python3-venv, python3-dev, gcc and make.

PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready

.DEFAULT_GOAL := help
.PHONY: help demo test fuzz bench crash load check format openapi docs lock clean

help: ## Show these targets
	@awk -F ':.*## ' '/^[a-z]+:.*## /{printf "  make %-9s %s\n", $$1, $$2}' $(MAKEFILE_LIST)

demo: $(READY) ## Start the service, post invented line items, print their procedures (ONCE=1 stops it again)
	@$(BIN)/stagewright demo $(if $(ONCE),--once)

test: $(READY) ## Run the whole suite
	@$(BIN)/pytest

fuzz: $(READY) ## Hold the service to its contract with 10,000 generated requests and more, some minutes (EXAMPLES=300)
	@$(BIN)/python tests/api/fuzz.py $(EXAMPLES)

bench: $(READY) ## Measure what is claimed in figures, some minutes (ONLY=identification, engines, proof, calibration or arithmetic)
	@$(BIN)/python -m bench $(ONLY)

crash: $(READY) ## Kill the service 90 times while it writes, some minutes: is all that was acknowledged there, once
	@$(BIN)/python -m endurance crash

load: $(READY) ## Hold the service at 60 % of its peak for 15 minutes: no errors, flat memory (MINUTES=1)
	@$(BIN)/python -m endurance load $(if $(MINUTES),--minutes $(MINUTES))

check: $(READY) ## Style, types, layers, the proof of the packs and the drift of openapi.yaml
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/stagewright rules check rules/packs/base
	$(BIN)/stagewright rules check rules/packs/example-overlay
	$(BIN)/stagewright rules fmt --check rules/packs/base
	$(BIN)/stagewright rules fmt --check rules/packs/example-overlay
	$(BIN)/stagewright rules test rules/packs/base
	$(BIN)/stagewright rules prove rules/packs/base
	$(BIN)/stagewright rules prove rules/packs/example-overlay
	$(BIN)/stagewright openapi | diff openapi.yaml -
	$(BIN)/openapi-spec-validator openapi.yaml
	$(BIN)/hadolint docker/Dockerfile
	$(BIN)/check-jsonschema --builtin-schema vendor.compose-spec docker/compose.yaml

format: $(READY) ## Rewrite the code in the house's layout
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

openapi: $(READY) ## Write openapi.yaml anew from the code
	$(BIN)/stagewright openapi > openapi.yaml.new
	mv openapi.yaml.new openapi.yaml

docs: $(READY) ## Write the generated pages and the schemas of pack files anew
	$(BIN)/stagewright rules table docs/typical_line_items.yaml > docs/typical_line_items.new
	mv docs/typical_line_items.new docs/typical_line_items.md
	$(BIN)/stagewright rules quote docs/quotes.yaml > docs/quotes.new
	mv docs/quotes.new docs/quotes.md
	$(BIN)/stagewright problems > docs/problems.new
	mv docs/problems.new docs/problems.md
	$(BIN)/stagewright rules code --pages docs/codes
	$(BIN)/stagewright rules schemas

lock: ## Resolve the dependencies anew into requirements.lock (needs uv)
	uv pip compile --quiet --universal --python-version 3.11 --extra dev --extra postgresql --extra redis --extra telemetry \
		--custom-compile-command 'make lock' pyproject.toml --output-file requirements.lock

clean: ## Remove the environment and all caches
	rm -rf $(VENV) .demo build *.egg-info .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache

$(READY): pyproject.toml requirements.lock
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --requirement requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --editable .
	@touch $@
