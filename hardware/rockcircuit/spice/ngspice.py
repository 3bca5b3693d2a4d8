"""Run ngspice in batch mode and read what it computed."""

import shutil
import subprocess
import tempfile
from pathlib import Path

import numpy as np

from rockcircuit.errors import SimulationError

Traces = dict[str, np.ndarray]


def installed() -> bool:
    """Say whether ngspice is there."""
    return shutil.which("ngspice") is not None


def run(lines: list[str], analysis: str, outputs: list[str], timeout_s: float = 60) -> Traces:
    """Run one deck and return its traces by name; "x" is the time or the swept voltage.

    Args:
        lines: Elements and models.
        analysis: ".tran …" or ".dc …", without its dot.
        outputs: What to keep: "v(node)", "i(source)".
        timeout_s: When to give up.

    Raises:
        SimulationError: If ngspice is missing, fails or gives nothing.
    """
    if not installed():
        raise SimulationError("ngspice is missing. Install it: apt-get install ngspice")
    with tempfile.TemporaryDirectory(prefix="rockhold-spice-") as folder:
        data = Path(folder) / "out.dat"
        deck = Path(folder) / "deck.cir"
        deck.write_text("\n".join(["* rockhold", *lines, *_control(analysis, outputs, data)]))
        try:
            done = subprocess.run(
                ["ngspice", "-b", str(deck)],
                capture_output=True, text=True, check=False, timeout=timeout_s, cwd=folder,
            )  # fmt: skip
        except subprocess.TimeoutExpired as error:
            raise SimulationError(f"ngspice did not end within {timeout_s:.0f} s") from error
        if not data.exists():
            raise SimulationError("ngspice gave nothing:\n" + (done.stdout + done.stderr)[-800:])
        table = np.loadtxt(data, skiprows=1, ndmin=2)
    return dict(zip(["x", *outputs], table.T, strict=True))


def _control(analysis: str, outputs: list[str], data: Path) -> list[str]:
    return [
        ".options reltol=1e-4 abstol=1e-13 method=gear",
        ".control",
        "set wr_singlescale",
        "set wr_vecnames",
        analysis,
        f"wrdata {data} {' '.join(outputs)}",
        "quit",
        ".endc",
        ".end",
    ]
