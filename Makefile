# Every target says what it does as it goes. `make demo` and `make test` are all a new machine needs.
PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
STAMP  := $(VENV)/.ready
SAY    := @printf '== %s\n'
# Of `make test`: number of processes, and what to run, in that order (all of tests/).
N      ?= auto
TESTS  ?=
# Of `make faults`: such as FAULTS="--only undo" or FAULTS="--one-in 10".
FAULTS ?=
# Of `make offices`: such as OFFICES="--files 50 --kills 3".
OFFICES ?=

.PHONY: setup system demo demo-twice test thorough check coverage bench drafts golden type-sizes page-ends fuzz faults bombs calibrate mutation docs sheet lock test-duckdb2 \
  audit bom wheel-twice wheel-demo no-network privacy two-at-once offices clean

setup: $(STAMP)

system:
	$(SAY) "Looking for Python's venv module and for Pango (text layout for the PDF pages)"
	@sh scripts/system-libraries.sh "$(PYTHON)"

$(STAMP): requirements.lock pyproject.toml | system
	$(SAY) "Making the environment in $(VENV) from requirements.lock (hashes checked)"
	@$(PYTHON) -m venv $(VENV)
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes --no-deps -r requirements.lock
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $(STAMP)
	$(SAY) "Environment ready"

demo: $(STAMP)
	$(SAY) "Making the demo workspace in demo/: store, indicators, every report"
	@rm -rf demo
	@$(BIN)/swardtally demo --out demo

# Same records, same bytes: the whole demo by two processes of other threads, hash seeds and time zones.
demo-twice: $(STAMP)
	$(SAY) "Making the demo twice and comparing every file and every table"
	@$(BIN)/python -m tests.twice

# What is compiled is kept, whatever the shell says: reading the tests and starting commands takes twice as long without.
test thorough coverage: export PYTHONDONTWRITEBYTECODE =

test: $(STAMP)
	$(SAY) "Checking style and types, then running the tests"
	@$(MAKE) --no-print-directory check
	@sh scripts/test-programs.sh
	@$(BIN)/python -m pytest -n $(N) --dist worksteal $(TESTS)

# Before a release: every test with all of its cases and examples; `make test` leaves out what is marked `thorough`.
thorough: $(STAMP)
	$(SAY) "Running every test with all of its cases (about a quarter of an hour on two cores)"
	@sh scripts/test-programs.sh
	@THOROUGH=1 $(BIN)/python -m pytest -n $(N) --dist worksteal $(TESTS)

# All tests with the floor of coverage, which makes them half as slow again.
coverage: $(STAMP)
	@THOROUGH=1 $(BIN)/python -m pytest -n auto --dist worksteal --cov --cov-report=term

check: $(STAMP)
	@$(BIN)/ruff format --check .
	@$(BIN)/ruff check .
	@$(BIN)/mypy

# Inputs nobody thought of, kept where they reach new code (tests/fuzz), for MINUTES; then every property test with five
# times its examples, drawn at random. atheris, which sees what an input reaches, is in an environment of its own; where
# it cannot be had the seeds are changed by chance. FUZZED="dates rows" for a part of it.
MINUTES ?= 38
FUZZED  ?=
fuzz: $(STAMP)
	$(SAY) "Fuzzing readers, cells, settings, templates and drawings for $(MINUTES) minutes"
	@$(BIN)/python -m venv .venv/fuzz
	@$(BIN)/python -c 'import site; print(*site.getsitepackages())' > "$$(.venv/fuzz/bin/python -c 'import site; print(*site.getsitepackages())')/ordinary.pth"
	@.venv/fuzz/bin/python -m pip install --quiet --disable-pip-version-check -r tests/fuzz/requirements.txt \
	  || printf '== %s\n' "atheris cannot be installed here: inputs are drawn by chance"
	@PYTHONPATH=. nice .venv/fuzz/bin/python -m tests.fuzz --minutes $(MINUTES) $(FUZZED)
	$(SAY) "Running every property test with $${FUZZ:-5} times its examples"
	@FUZZ=$${FUZZ:-5} $(BIN)/python -m pytest -q -n auto -m hypothesis --timeout=3600

# Every call by which a command changes a file fails once in each way, or the process is killed at it (tests/faults).
faults: $(STAMP)
	$(SAY) "Making every call on files fail, and killing commands (about forty minutes on two idle cores)"
	@nice $(BIN)/python -m tests.faults $(FAULTS)

# Files made to fill a machine, at full size: each must be refused for less than a gigabyte and 20 s of processor.
bombs: $(STAMP)
	$(SAY) "Loading files made to fill a machine, and measuring what refusing each costs (about ten minutes, 3 GB of disk)"
	@$(BIN)/python -m tests.bombs

# How often verdicts and intervals are right on a simulated county; writes docs/calibration.md.
calibrate: $(STAMP)
	@$(BIN)/python -m tests.calibrate

# Small changes of the formulas and the statistics, and whether a test notices; writes docs/mutation.md. cosmic-ray, which
# makes the changes, is in an environment of its own. MODULES="--share 3 pipeline.agronomy.work" for a part of it.
mutation: $(STAMP)
	$(SAY) "Changing the code in small places to see whether a test notices (about an hour)"
	@$(BIN)/python -m venv .venv/mutation
	@$(BIN)/python -c 'import site; print(*site.getsitepackages())' > "$$(.venv/mutation/bin/python -c 'import site; print(*site.getsitepackages())')/ordinary.pth"
	@.venv/mutation/bin/python -m pip install --quiet --disable-pip-version-check -r tests/mutation/requirements.txt
	@THOROUGH=1 PYTHONPATH=. OPENBLAS_NUM_THREADS=1 nice .venv/mutation/bin/python -m tests.mutation $(MODULES)

bench: $(STAMP)
	$(SAY) "Measuring ratios (absolute seconds swing from machine to machine)"
	@$(BIN)/python -m venv .venv/bench
	@.venv/bench/bin/python -m pip install --quiet --disable-pip-version-check -r tests/bench/requirements.txt \
	  || printf '== %s\n' "What is measured beside cannot be installed here: it is left out"
	@$(BIN)/python -m tests.bench

# Drafts of real files: kinds told, marks left, proposals that are wrong by a table made by hand (TRUTH, for another folder).
DATA  ?= ../shared/data
TRUTH ?=
drafts: $(STAMP)
	$(SAY) "Drafting a profile from every file of $(DATA)"
	@$(BIN)/python -m tests.draft.measure "$(DATA)" $(TRUTH)

# What is held of the documents (tests/reports/golden/held), after a change that is meant.
golden: $(STAMP)
	$(SAY) "Making anew what the tests hold of the documents; read the difference before it is committed"
	@$(BIN)/python -m tests.reports.golden

docs: $(STAMP)
	$(SAY) "Writing the pages of docs/ that are made from the code"
	@$(BIN)/python -m scripts.docs

# Pictures of the demo's pages for docs/: to be looked at after every change of a template.
sheet: demo
	@$(BIN)/python scripts/contact_sheet.py demo
	@$(BIN)/python -m scripts.show_picture demo
	@$(BIN)/python -m scripts.first_pages demo

# Smallest type of every document of the demo, and the share of letters below 8 pt: none may be.
type-sizes: demo
	@$(BIN)/python -m scripts.type_sizes demo

# How much of each page of the demo's documents is empty below what is printed on it.
page-ends: demo
	@$(BIN)/python -m scripts.page_ends demo

# The suite on DuckDB 2.0, in an environment of its own.
test-duckdb2: $(STAMP)
	$(SAY) "Running the tests on DuckDB 2.0"
	@$(PYTHON) -m venv .venv/duckdb2
	@grep -vE '^ +--hash|^duckdb==' requirements.lock | sed 's/ *\\$$//' > .venv/duckdb2/requirements.txt
	@.venv/duckdb2/bin/python -m pip install --quiet --disable-pip-version-check --no-deps -r .venv/duckdb2/requirements.txt 'duckdb>=2.0,<3'
	@.venv/duckdb2/bin/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@THOROUGH=1 .venv/duckdb2/bin/python -m pytest -n auto

# Programs for what leaves the house, in an environment of their own: scripts/supply/requirements.txt.
SUPPLY := .venv/supply
$(SUPPLY)/.ready: scripts/supply/requirements.txt $(STAMP)
	$(SAY) "Making the environment of the programs for audit and bill of materials in $(SUPPLY)"
	@$(BIN)/python -m venv $(SUPPLY)
	@$(SUPPLY)/bin/python -m pip install --quiet --disable-pip-version-check -r scripts/supply/requirements.txt
	@touch $@

# Known vulnerabilities of everything locked. 1: some are known; 3: not all could be looked up (make itself ends with 2).
audit: $(SUPPLY)/.ready
	$(SAY) "Looking the locked libraries up among the known vulnerabilities"
	@$(BIN)/python -m scripts.supply.audit $(SUPPLY)/bin/pip-audit

# What the product is made of, CycloneDX 1.6: dist/swardtally.cdx.json.
bom: $(SUPPLY)/.ready
	$(SAY) "Writing the bill of materials of the locked libraries that the product runs on"
	@$(BIN)/python -m scripts.supply.bom $(SUPPLY)/bin/cyclonedx-py .venv/runtime dist/swardtally.cdx.json
	@$(SUPPLY)/bin/python scripts/supply/valid_bom.py dist/swardtally.cdx.json

wheel-twice: $(STAMP)
	$(SAY) "Building wheel and sdist twice, from two folders under another umask, time zone and locale"
	@$(BIN)/python -m scripts.supply.wheel twice

# As somebody has it who installs the wheel: its locked libraries, nothing else, no sources beside it.
wheel-demo: $(STAMP)
	$(SAY) "Installing the wheel into a fresh environment and making the demo with it"
	@nice $(BIN)/python -m scripts.supply.wheel demo .venv/runtime

# The demo and every command, each in a process without any network (Linux: unshare).
no-network: $(STAMP)
	$(SAY) "Making the demo and running every command with the network taken away"
	@nice $(BIN)/python -m tests.no_network

# Every document of a county with a word of its own in every field of two clubs, searched for these: docs/privacy.md.
privacy: $(STAMP)
	$(SAY) "Making every document of a county of words and looking for these in every byte"
	@THOROUGH=1 nice $(BIN)/python -m pytest -q tests/privacy tests/whole/test_reports_privacy.py tests/cli/test_cli_modes.py

# Two commands at one time, each case in processes of its own that are held at the moment by a pipe.
two-at-once: $(STAMP)
	@THOROUGH=1 $(BIN)/python -m pytest -q tests/two_at_once

# Two offices that load 500 files each into one shared store: at once, one killed ten times, with loads taken back between.
offices: $(STAMP)
	$(SAY) "Loading into a shared store from two offices at once (PostgreSQL on this machine; about half an hour)"
	@sh scripts/test-programs.sh
	@nice $(BIN)/python -m tests.shared $(OFFICES)

lock:
	$(SAY) "Resolving requirements.lock anew"
	@uv pip compile --universal --generate-hashes --no-emit-index-url --no-header --no-annotate \
	  --python-version 3.11 --group dev pyproject.toml -c constraints.txt -o requirements.lock

clean:
	rm -rf $(VENV) demo build dist .coverage* .pytest_cache .mypy_cache .ruff_cache .hypothesis
