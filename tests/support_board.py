"""The real board program on a pseudo-terminal, and recordings of gauges to show it."""

import multiprocessing
import os
import select
import subprocess
import sys
import tempfile
import threading
import time
import tty
import zipfile
from pathlib import Path

import numpy as np

from rockhold.cli import COMMANDS, main
from rockhold.simulator.gauge24 import edges_of, word_of
from support import ROOT, VECTORS

SHARED = ROOT.parent / "shared" / "data" / "logic24"


def vector_edges(name):
    """Edges of one of the project's own recordings: (time in µs, levels)."""
    rows = (VECTORS / "clocked24" / name).read_text(encoding="utf-8").splitlines()
    pairs = " ".join(row[7:] for row in rows if row.startswith("edges: ")).split()
    return [tuple(int(part) for part in pair.split(":")) for pair in pairs]


def recording_edges(path):
    """Clock edges of a whole logic-analyser recording: bit 0 data, bit 1 clock, 1 MHz."""
    with zipfile.ZipFile(path) as archive:
        samples = np.frombuffer(archive.read("logic-1-1"), np.uint8) & 3
    at = np.flatnonzero(np.diff(samples >> 1)) + 1
    return list(zip(at.tolist(), samples[at].tolist(), strict=True))


def show_counts(board, counts, first_us=100_000, spacing_us=72_000, inch=True, pace_s=0.0):
    """Let the board see readings; return the time of the last edge."""
    t_us = first_us
    for count in counts:
        edges = list(edges_of(t_us, word_of(count, inch)))
        board.send_edges(edges)
        board.pass_time(edges[-1][0] + 5_000)
        t_us += spacing_us
        time.sleep(pace_s)
    return t_us


# A process that has the libraries loaded and forks one for each call: half a second less each.
_FORKS = multiprocessing.get_context("forkserver")
_FORKS.set_forkserver_preload(
    [
        "matplotlib.backends.backend_agg",
        "matplotlib.figure",
        "rockhold.evidence.result",
        "rockhold.report.html",
        "rockhold.report.plot",
        "rockhold.report.pictures.trend_plot",
        "scipy.stats",
        "sqlalchemy.dialects.sqlite",
        *(module for module, _ in COMMANDS.values()),
    ]
)


def _be_the_command(arguments, env, folder):
    """Become `rockhold` with these arguments; its output goes to two files in the folder."""
    for stream, path in enumerate((os.devnull, f"{folder}/out", f"{folder}/err")):
        here = os.open(path, os.O_RDWR | os.O_CREAT)
        os.dup2(here, stream)
        os.close(here)
    os.environ.clear()
    os.environ.update(env)
    sys.argv = ["rockhold", *arguments]
    main()


class Rockhold:
    """The command line in a process of its own, with a home of its own."""

    def __init__(self, home):
        self.env = {**os.environ, "ROCKHOLD_HOME": str(home), "ROCKHOLD_PASSPHRASE": ""}
        self.command = [str(Path(sys.executable).with_name("rockhold"))]

    def __call__(self, *arguments, **options):
        """Run to the end and return the finished process."""
        command = [*self.command, *map(str, arguments)]
        if not options:
            return self._forked(command)
        return subprocess.run(
            command,
            capture_output=True,
            text=True,
            timeout=60,
            env=self.env,
            stdin=subprocess.DEVNULL,
            **options,
        )

    def _forked(self, command):
        with tempfile.TemporaryDirectory() as folder:
            call = _FORKS.Process(target=_be_the_command, args=(command[1:], self.env, folder))
            call.start()
            call.join(60)
            if call.is_alive():
                call.kill()
                raise subprocess.TimeoutExpired(command, 60)
            out, err = ((Path(folder) / name).read_text("utf-8") for name in ("out", "err"))
        return subprocess.CompletedProcess(command, call.exitcode, out, err)

    def start(self, *arguments):
        """Start and return the running process."""
        return subprocess.Popen(
            [*self.command, *map(str, arguments)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=self.env,
            stdin=subprocess.DEVNULL,
        )


def wait_until(condition, limit_s=15.0):
    """Wait for a condition; fail when it does not come."""
    end_s = time.monotonic() + limit_s
    while not condition():
        assert time.monotonic() < end_s, "did not happen in time"
        time.sleep(0.02)


class BadLine(threading.Thread):
    """A cable between two pseudo-terminals that spoils what passes.

    Args:
        device: The board's terminal.
        spoil: Takes bytes that go either way and returns what arrives.
    """

    def __init__(self, device, spoil):
        super().__init__(daemon=True)
        self._board = os.open(device, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(self._board)
        self._host, self._far = os.openpty()
        tty.setraw(self._far)
        self.device = os.ttyname(self._far)
        self._spoil = spoil
        self._ended = threading.Event()

    def run(self):
        """Carry bytes until stopped."""
        while not self._ended.is_set():
            ready, _, _ = select.select([self._board, self._host], [], [], 0.05)
            for end in ready:
                data = os.read(end, 512)
                os.write(self._host if end == self._board else self._board, self._spoil(data))

    def __enter__(self):
        self.start()
        return self

    def __exit__(self, *error):
        self._ended.set()
        self.join()
        for end in (self._board, self._host, self._far):
            os.close(end)
