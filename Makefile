# Two commands do everything: `make demo` and `make test`. Each installs what it needs into .venv.
PYTHON ?= python3
BIN := .venv/bin
INSTALLED := .venv/.installed

.PHONY: commands bench-torque packages hardware hardware-files radio-rate radio-session tamper demo-captures bench-verify bench-library demo test check faults lint types imports format lock clean bench kills latency mutants real-edges

demo: $(INSTALLED)
	$(BIN)/rockhold demo --out out/demo

test: $(INSTALLED)
	$(BIN)/python -m pytest -n auto

# The system's packages that some tests need: a browser. As root, on Debian or similar.
packages:
	bash tests/install_packages.sh

# The board's program on an emulated chip: make test-chip ROCKHOLD_UF2=image.uf2
test-chip: $(INSTALLED)
	ROCKHOLD_UF2="$(ROCKHOLD_UF2)" $(BIN)/python -m pytest -n 0 -rs -s tests/chip

# The packaged MicroPython has 64 bits, boards have 32; another one: make soak MICROPYTHON=path
MICROPYTHON ?= $(BIN)/python -m micropython
BOARD_CODE := MICROPYPATH=protocol:firmware:tests/firmware:.frozen $(MICROPYTHON)

# Every recording of a real gauge, whole, through interrupts and through the state machine's program.
real-edges: $(INSTALLED)
	ROCKHOLD_ALL_EDGES=1 $(BIN)/python -m pytest -n 0 -rs tests/firmware/test_pio.py \
	  tests/host/record/test_job.py -k "recording or gauges"

# The power cut at every single write and erase of a recording session.
powercut: $(INSTALLED)
	$(BOARD_CODE) -X heapsize=24m tests/firmware/run_powercut.py 1 | grep -v '^OSError' # files of boards whose power was cut

# An hour of the board at 500 readings a second, with erases of 400 ms.
soak: $(INSTALLED)
	$(BOARD_CODE) -X heapsize=160k tests/firmware/run_soak.py 3600
	@echo "and with no host, until the flash is full: all sources, then one indicator"
	$(BOARD_CODE) -X heapsize=160k tests/firmware/run_soak.py 20000 alone
	$(BOARD_CODE) -X heapsize=160k tests/firmware/run_soak.py 20000 alone gauge

# Everything CI runs: format, lint, types, the direction of imports, both interpreters, doctests.
check: lint types imports test

# Ten thousand seeded lives of board, link, host, clocks and disk.
faults: $(INSTALLED)
	$(BIN)/python tests/soak/faults.py --seeds 10000

# The real `rockhold record` killed 300 times, its real terminal pulled 300 times; a quarter of an hour.
kills: $(INSTALLED)
	PYTHONPATH=tests $(BIN)/python tests/soak/kills.py

# Small faults put into the program, one at a time: which do the tests notice? GROUP=seal tries one
# group (wire, hold, endplay, verdict, seal), MOST=9999 all its mutants instead of a sample.
MOST ?= 400
mutants: $(INSTALLED)
	$(BIN)/python tests/mutants/run.py $(GROUP) --most $(MOST)

lint: $(INSTALLED)
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .

types: $(INSTALLED)
	$(BIN)/mypy
	$(BIN)/python tests/check_board_types.py

imports: $(INSTALLED)
	PYTHONPATH=hardware $(BIN)/lint-imports

format: $(INSTALLED)
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

$(INSTALLED): requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "rockhold needs Python 3.11 or newer; '$(PYTHON)' is older. Try: make PYTHON=python3.12"; exit 1; }
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --disable-pip-version-check --quiet --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --disable-pip-version-check --quiet --no-deps --no-build-isolation --editable .
	@touch $@

# Accuracy and speed against other ways to measure; minutes, not part of `make check`.
bench: $(INSTALLED)
	$(BIN)/python tests/bench/accuracy.py
	$(BIN)/python tests/bench/misfortunes.py

# Pulls found, missed and false, and the error of their peaks, beside scipy.signal.find_peaks.
bench-torque: $(INSTALLED)
	PYTHONPATH=tests $(BIN)/python tests/bench/torque.py

# Plays the README's session: begun over radio, cut, gone on over the cable, sealed, verified.
radio-session: $(INSTALLED)
	PYTHONPATH=tests $(BIN)/python tests/bench/radio_session.py

# How long a reading takes from the board to the screen.
latency: $(INSTALLED)
	PYTHONPATH=tests $(BIN)/python tests/bench/latency.py

# How many readings a second get through over radio, at which load; about a minute.
radio-rate: $(INSTALLED)
	PYTHONPATH=tests $(BIN)/python tests/bench/radio_rate.py

# Everything about the hardware that can be checked without a soldering iron; writes the pictures.
# Brings what it needs: SKiDL into .venv, ngspice and openscad from the system's packages.
HARDWARE := PYTHONPATH=hardware $(BIN)/python -m rockcircuit
HARDWARE_INSTALLED := .venv/.hardware

hardware: $(HARDWARE_INSTALLED) hardware-files
	$(HARDWARE) check
	$(HARDWARE) second-opinion
	$(HARDWARE) simulate
	$(HARDWARE) solids
	$(BIN)/python -m pytest -n 0 -rs tests/hardware

# Pictures, parts list, wiring and battery table anew from the circuit; needs nothing more installed.
hardware-files: $(INSTALLED)
	$(HARDWARE) write

$(HARDWARE_INSTALLED): $(INSTALLED) hardware/requirements.lock hardware/install.sh
	$(BIN)/python -m pip install --disable-pip-version-check --quiet --require-hashes -r hardware/requirements.lock
	sh hardware/install.sh
	@touch $@

# Writes requirements.lock anew from pyproject.toml (needs uv: pip install uv).
lock:
	uv pip compile pyproject.toml --extra demo --extra dev --universal --python-version 3.11 \
	  --generate-hashes --no-emit-index-url --no-emit-find-links --quiet -o requirements.lock
	uv pip compile pyproject.toml --extra demo --extra dev --extra hardware --universal \
	  --python-version 3.11 --constraint requirements.lock --generate-hashes --no-emit-index-url \
	  --no-emit-find-links --quiet -o hardware/requirements.lock

# Changes captures in every way, as a forger, a disk or a careless hand would, and counts what is noticed.
tamper: $(INSTALLED)
	PYTHONPATH=tests $(BIN)/python tests/tamper.py

# How long verification takes, and what of it the signatures alone take.
bench-verify: $(INSTALLED)
	PYTHONPATH=tests $(BIN)/python tests/bench/verify_speed.py

# The library with 100 000 captures (make bench-library FILES=2000 for fewer), kept in /tmp.
bench-library: $(INSTALLED)
	PYTHONPATH=tests $(BIN)/python tests/bench/library_speed.py $(FILES)

# Makes those demo captures anew that are not there; released ones stay as they are.
demo-captures: $(INSTALLED)
	$(BIN)/python demo_captures/make.py

# Writes host/COMMANDS.md anew from what `--help` says.
commands: $(INSTALLED)
	$(BIN)/python tests/host/cli/make_commands.py

clean:
	rm -rf .venv build out *.egg-info
