"""Measure how long a reading takes from the board to the screen, over a pseudo-terminal.

    PYTHONPATH=tests .venv/bin/python tests/bench/latency.py [--seconds 20]

The board's program in MicroPython, a pseudo-terminal for the cable, another one for the screen, and
the real `rockhold record` with its panel between them. The counts rise, so the panel's "highest"
names the newest reading that is shown. Two delays are told: from the frame's way out of the board
to the screen, which is what link, disk and screen add; and from the reading's last edge to the
screen, with the up to 0.2 s that a reading waits for others to share its record.
"""

import argparse
import os
import pty
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from rockhold.cli import exits
from rockhold.simulator.cable import Cable
from rockhold.simulator.gauge24 import edges_of, word_of
from rockhold.simulator.unix_board import UnixBoard
from rockwire import frames
from rockwire import messages as m
from rockwire.decoder import Decoder
from support_board import Rockhold

GOAL_MS = 20.0
_SPACING_S = 0.0714  # 14 readings a second, as a real gauge sends
_HIGHEST = re.compile(r"highest \+(\d+\.\d+) in")


class Screen(threading.Thread):
    """Reads a terminal; `seen` says when which count was first shown as the highest."""

    def __init__(self, near):
        super().__init__(daemon=True)
        self._near = near
        self.seen = {}

    def run(self):
        """Read until the terminal is closed."""
        text = ""
        while True:
            try:
                data = os.read(self._near, 65_536)
            except OSError:
                return
            now_s = time.monotonic()
            text = text[-200:] + data.decode(errors="replace")
            for value in _HIGHEST.findall(text):
                self.seen.setdefault(round(float(value) * 2000), now_s)


class Tap:
    """Notes when a batch left the board: the newest count in it, and when."""

    def __init__(self):
        self._decoder = Decoder()
        self.left = {}

    def __call__(self, data):
        """Look at bytes on their way."""
        now_s = time.monotonic()
        for event in self._decoder.feed(data):
            if isinstance(event, frames.Frame) and isinstance(event.message, m.Readings):
                self.left.setdefault(event.message.count[-1], now_s)


def measure(seconds):
    """Record for so long and return (frame to screen, reading to screen), in ms."""
    shown = {}
    near, far = pty.openpty()
    screen, tap = Screen(near), Tap()
    with tempfile.TemporaryDirectory() as name, UnixBoard() as board:
        folder = Path(name)
        rockhold = Rockhold(folder / "home")
        env = {**rockhold.env, "TERM": "xterm", "COLUMNS": "100", "LINES": "40"}
        with Cable(board.device, folder / "port", tap) as cable:
            running = subprocess.Popen(
                [*rockhold.command, "record", str(folder / "a.capture"), "--no-seal",
                 "--technician", "A. Tester", "--port", str(cable.path)],
                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=far, env=env,
            )  # fmt: skip
            os.close(far)
            screen.start()
            while not (folder / "a.capture").exists():
                time.sleep(0.05)
            time.sleep(0.5)
            begin_s, t_us = time.monotonic(), 100_000
            for count in range(1, int(seconds / _SPACING_S)):
                time.sleep(max(0.0, begin_s + count * _SPACING_S - time.monotonic()))
                edges = list(edges_of(t_us, word_of(count, inch=True)))
                board.send_edges(edges)
                shown[count] = time.monotonic()
                board.pass_time(edges[-1][0] + 5_000)
                t_us += int(_SPACING_S * 1e6)
            board.press_button(t_us)
            assert running.wait(30) == exits.NOT_MEASURABLE
    added = [screen.seen[c] - t for c, t in tap.left.items() if c in screen.seen]
    whole = [min(s for c, s in screen.seen.items() if c >= count) - t for count, t in shown.items()
             if count <= max(screen.seen)]  # fmt: skip
    return [1e3 * s for s in added], [1e3 * s for s in whole]


def row(times_ms):
    """Return median, nine tenths and longest as text."""
    times_ms = sorted(times_ms)
    tenth = times_ms[int(0.9 * (len(times_ms) - 1))]
    return (
        f"median {statistics.median(times_ms):6.1f} ms, nine of ten within {tenth:6.1f} ms, "
        f"longest {times_ms[-1]:6.1f} ms ({len(times_ms)})"
    )


def main():
    """Print the figures; fail when the goal is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=20)
    chosen = parser.parse_args()
    added, whole = measure(chosen.seconds)
    print("from the frame's way out to the screen:", row(added))
    print("from the reading's last edge to it:    ", row(whole))
    sys.exit(statistics.median(added) > GOAL_MS)


if __name__ == "__main__":
    main()
