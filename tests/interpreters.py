"""Run a piece of the shared code under the real MicroPython, as a board would.

The Unix port of MicroPython comes as a package; ROCKHOLD_MICROPYTHON names another binary.
"""

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

PROTOCOL = Path(__file__).parents[1] / "protocol"
BOARD_HEAP = "160k"


def micropython_command(heap: str = BOARD_HEAP) -> list[str]:
    """Return the command that starts MicroPython with a heap of the given size."""
    binary = os.environ.get("ROCKHOLD_MICROPYTHON")
    return [
        *([binary] if binary else [sys.executable, "-m", "micropython"]),
        "-X",
        f"heapsize={heap}",
    ]


def run_lines(
    command: Sequence[str], program: str, lines: Sequence[str], timeout_s: float = 60
) -> list[str]:
    """Run a program under an interpreter, give it lines on its input, return those it printed."""
    done = subprocess.run(
        [*command, "-c", program],
        input="".join(line + "\n" for line in lines),
        capture_output=True,
        text=True,
        timeout=timeout_s,
        check=False,
        env={**os.environ, "MICROPYPATH": str(PROTOCOL), "PYTHONPATH": str(PROTOCOL)},
    )
    assert done.returncode == 0, done.stderr + done.stdout
    return done.stdout.splitlines()


def run_on_both(program: str, lines: Sequence[str]) -> tuple[list[str], list[str]]:
    """Return what a program prints under MicroPython and under this CPython."""
    return (
        run_lines(micropython_command(), program, lines),
        run_lines([sys.executable], program, lines),
    )
