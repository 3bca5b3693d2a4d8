# `make help` lists what there is. A target installs what it needs into .venv, the system's packages
# excepted. Sentences behind ## are what the list shows; tests/test_project.py holds them to it.
PYTHON ?= python3
BIN := .venv/bin
INSTALLED := .venv/.installed
RUN := $(BIN)/python
RUN_WITH_TESTS := PYTHONPATH=tests $(BIN)/python

HARDWARE := PYTHONPATH=hardware $(BIN)/python -m rockcircuit
HARDWARE_INSTALLED := .venv/.hardware

.DEFAULT_GOAL := help

#: For everybody

help: ## List the targets.
	@awk -F ':.*## ' '/^#: / { printf "\n%s\n", substr($$0, 4) } \
	  /^[a-z-]+:.*## / { printf "  %-16s %s\n", $$1, $$2 }' Makefile

demo: $(INSTALLED) ## Play a whole job with no hardware; its capture and picture come into out/demo.
	$(BIN)/rockhold demo --out out/demo

test: $(INSTALLED) ## Pass all tests that need nothing but .venv (five minutes on two cores).
	$(RUN) -m pytest -n auto

clean: ## Remove what was installed and made: .venv, out, build.
	rm -rf .venv build out *.egg-info

#: Before a change goes in

check: lint types imports test ## Everything CI runs: format, lint, types, imports, both interpreters.

lint: $(INSTALLED) ## Format and lint, by ruff.
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .

types: $(INSTALLED) ## Types: mypy strict, and the board's code against MicroPython's stubs.
	$(BIN)/mypy
	$(RUN) tests/check_board_types.py

imports: $(INSTALLED) ## The direction of imports (contracts in pyproject.toml).
	PYTHONPATH=hardware $(BIN)/lint-imports

format: $(INSTALLED) ## Mend format and order of imports.
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

packages: ## The system's packages that some tests need (as root, on Debian or similar).
	bash tests/install_packages.sh

#: What is written by a program and kept

commands: $(INSTALLED) ## host/COMMANDS.md, from what --help says.
	$(RUN) tests/host/cli/make_commands.py

vectors: $(INSTALLED) ## protocol/vectors, from the specification; `expect:` of frames is by hand.
	$(RUN) tests/protocol/make_frame_vectors.py
	$(RUN) tests/protocol/make_evidence_vectors.py
	$(RUN) tests/firmware/make_source_vectors.py

known-results: $(INSTALLED) ## What the measurement gives on frozen readings; only with a new METHOD.
	$(RUN_WITH_TESTS) tests/host/evidence/make_known_results.py

demo-captures: $(INSTALLED) ## Those demo captures that are not there; released ones stay.
	$(RUN) demo_captures/make.py

hardware-files: $(INSTALLED) ## Pictures, parts list, wiring and battery table, from the circuit.
	$(HARDWARE) write

lock: ## Lock files, from pyproject.toml (needs uv: pip install uv).
	uv pip compile pyproject.toml --extra demo --extra dev --universal --python-version 3.11 \
	  --generate-hashes --no-emit-index-url --no-emit-find-links --quiet -o requirements.lock
	uv pip compile pyproject.toml --extra demo --extra dev --extra hardware --universal \
	  --python-version 3.11 --constraint requirements.lock --generate-hashes --no-emit-index-url \
	  --no-emit-find-links --quiet -o hardware/requirements.lock

#: Slow proofs

hardware: $(HARDWARE_INSTALLED) hardware-files ## Circuit, simulation, printed parts (3 minutes).
	$(HARDWARE) check
	$(HARDWARE) second-opinion
	$(HARDWARE) simulate
	$(HARDWARE) solids
	$(RUN) -m pytest -n 0 -rs tests/hardware

faults: $(INSTALLED) ## Ten thousand seeded lives of board, link, host, clocks and disk (3 minutes).
	$(RUN) tests/soak/faults.py --seeds 10000

kills: $(INSTALLED) ## The real program killed 300 times, its terminal pulled 300 times (15 minutes).
	$(RUN_WITH_TESTS) tests/soak/kills.py

tamper: $(INSTALLED) ## A capture changed in every way; counts what is noticed.
	$(RUN_WITH_TESTS) tests/tamper.py

# GROUP=seal tries one group (wire, hold, endplay, verdict, seal), MOST=9999 all its mutants.
MOST ?= 400
mutants: $(INSTALLED) ## Small faults put into the program: which do tests notice? [GROUP=, MOST=]
	$(RUN) tests/mutants/run.py $(GROUP) --most $(MOST)

# The packaged MicroPython has 64 bits, boards have 32: make soak MICROPYTHON=path takes another.
MICROPYTHON ?= $(BIN)/python -m micropython
BOARD_CODE := MICROPYPATH=protocol:firmware:tests/firmware:.frozen $(MICROPYTHON)

soak: $(INSTALLED) ## An hour of the board at 500 readings a second, erases of 400 ms [MICROPYTHON=].
	$(BOARD_CODE) -X heapsize=160k tests/firmware/run_soak.py 3600
	@echo "and with no host, until the flash is full: all sources, then one indicator"
	$(BOARD_CODE) -X heapsize=160k tests/firmware/run_soak.py 20000 alone
	$(BOARD_CODE) -X heapsize=160k tests/firmware/run_soak.py 20000 alone gauge

# Files of boards whose power was cut complain when they go; that is no fault.
powercut: $(INSTALLED) ## The board's power cut at every single write and erase of a recording.
	$(BOARD_CODE) -X heapsize=24m tests/firmware/run_powercut.py 1 | grep -v '^OSError'

real-edges: $(INSTALLED) ## Every recording of a real gauge, whole, through both ways of taking edges.
	ROCKHOLD_ALL_EDGES=1 $(RUN) -m pytest -n 0 -rs tests/firmware/test_pio.py \
	  tests/host/record/test_job.py -k "recording or gauges"

test-chip: $(INSTALLED) ## The board's program on an emulated chip [ROCKHOLD_UF2=image.uf2].
	ROCKHOLD_UF2="$(ROCKHOLD_UF2)" $(RUN) -m pytest -n 0 -rs -s tests/chip

radio-session: $(INSTALLED) ## The README's session: begun over radio, cut, gone on over the cable.
	$(RUN_WITH_TESTS) tests/bench/radio_session.py

#: Figures

bench: $(INSTALLED) ## End play: accuracy and speed beside other ways, and what each misfortune does.
	$(RUN) tests/bench/accuracy.py
	$(RUN) tests/bench/misfortunes.py

bench-torque: $(INSTALLED) ## Pulls missed and false, error of the peak, beside find_peaks.
	$(RUN_WITH_TESTS) tests/bench/torque.py

bench-verify: $(INSTALLED) ## How long verification takes, and what of it the signatures take.
	$(RUN_WITH_TESTS) tests/bench/verify_speed.py

bench-library: $(INSTALLED) ## The library with 100 000 captures, kept in /tmp [FILES=2000].
	$(RUN_WITH_TESTS) tests/bench/library_speed.py $(FILES)

latency: $(INSTALLED) ## How long a reading takes from the board to the screen.
	$(RUN_WITH_TESTS) tests/bench/latency.py

radio-rate: $(INSTALLED) ## How many readings a second get through over radio, at which load.
	$(RUN_WITH_TESTS) tests/bench/radio_rate.py

.PHONY: help demo test clean check lint types imports format packages commands vectors \
  known-results demo-captures hardware-files lock hardware faults kills tamper mutants soak \
  powercut real-edges test-chip radio-session bench bench-torque bench-verify bench-library \
  latency radio-rate

$(INSTALLED): requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "rockhold needs Python 3.11 or newer; '$(PYTHON)' is older. Try: make PYTHON=python3.12"; exit 1; }
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --disable-pip-version-check --quiet --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --disable-pip-version-check --quiet --no-deps --no-build-isolation --editable .
	@touch $@

# SKiDL into .venv, ngspice and OpenSCAD from the system's packages.
$(HARDWARE_INSTALLED): $(INSTALLED) hardware/requirements.lock hardware/install.sh
	$(BIN)/python -m pip install --disable-pip-version-check --quiet --require-hashes -r hardware/requirements.lock
	sh hardware/install.sh
	@touch $@
