"""Play a session for the README: begun over radio, cut, gone on over the cable, sealed, verified.

    PYTHONPATH=tests .venv/bin/python tests/bench/radio_session.py

The commands are the real ones; the board's program runs in MicroPython with a simulated job in
front of it, and the radio between is software (radio_air.py).
"""

import os
import sys
import tempfile
import threading
from pathlib import Path

from radio_air import Air
from radio_bench import RadioBench
from rockhold import cli
from rockhold.capture.reader import read_capture
from rockhold.evidence.keys import BOARD, trust_key
from rockhold.simulator.gaugebench import GaugeBench
from rockhold.simulator.jobbench import SCENARIO
from rockhold.simulator.simulate import simulate
from rockhold.simulator.wires import gauge_records
from support_board import wait_until

_SPEED = 4.0
_SEED = 7


def rockhold(*words):
    """Run a command as a person types it, and return its exit code."""
    shown = " ".join(f'"{word}"' if " " in word else word for word in words)
    print(f"$ rockhold {shown}", flush=True)
    sys.argv = ["rockhold", *words]
    try:
        cli.main()
    except SystemExit as stop:
        print(f"(exit code {stop.code})\n", flush=True)
        return stop.code
    return 0


def play(folder):
    """Play the session in a folder."""
    os.chdir(folder)
    os.environ["ROCKHOLD_HOME"] = str(folder / "home")
    os.environ["ROCKHOLD_PASSPHRASE"] = ""
    sys.stderr = sys.stdout
    path = Path("left.capture")
    trace, _ = simulate(SCENARIO, _SEED)
    begin = threading.Event()
    with Air() as air, RadioBench(air, folder) as board:
        board.set_battery(3_920, 1)
        bench = GaugeBench(board, [gauge_records(trace)], _SPEED, begin)
        bench.start()

        def cut():
            wait_until(lambda: path.exists() and b'"record"' in path.read_bytes())
            begin.set()
            wait_until(lambda: path.read_bytes().count(b'"record"') > 70, 60)
            air.run(air.stack.go())

        threading.Thread(target=cut, daemon=True).start()
        rockhold("boards", "--radio", "--seconds", "2")
        person = ("--technician", "A. Miller")
        rockhold("record", str(path), "--radio", "bay 3", *person, "--wait-s", "3")
        rockhold("record", str(path), "--resume", "--port", board.device, *person)
        header = read_capture(path).header["board"]
        trust_key(bytes.fromhex(header["public_key"]), "bay 3", BOARD)  # as `board setup` does
        return rockhold("verify", str(path))


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        sys.exit(play(Path(name)))
