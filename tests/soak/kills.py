"""Kill the real `rockhold record` and pull its real pseudo-terminal, again and again, by a seed.

    PYTHONPATH=tests .venv/bin/python tests/soak/kills.py [--seed N] [--kills N] [--replugs N]

The board's own program runs in MicroPython; a gauge shows it 50 numbered readings a second. Each
capture is killed (SIGKILL, at any moment of the process's life, start and end too) or unplugged
(the terminal is closed and comes back under another name) several times, ended with the button, and
judged: every reading once and in order, `rockhold verify` says good. A seed draws the moments; the
computer's own timing adds to them.
"""

import argparse
import random
import statistics
import sys
import tempfile
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

from rockboard.identity import Identity
from rockhold.capture.reader import read_capture
from rockhold.cli import exits
from rockhold.errors import CaptureFormatError
from rockhold.simulator.cable import Cable
from rockhold.simulator.gauge24 import edges_of, word_of
from rockhold.simulator.unix_board import UnixBoard
from support_board import Rockhold, wait_until
from support_trace import load_trace

SPACING_S = 0.02
SECRET = bytes(range(1, 33))
WHO = ("--technician", "A. Tester")
MEASURED = (exits.OK, exits.REJECTED, exits.UNDECIDED, exits.NOT_MEASURABLE)
_LONGEST_LIFE_S = 1.6  # of a process that is killed; it takes about 0.5 s to its first word
_LONGEST_ABSENCE_S = 1.5
_PATIENCE_S = 30.0


class Gauge(threading.Thread):
    """Shows the board the readings 0, 1, 2 … until it is stopped; `sent` says how many."""

    def __init__(self, board):
        super().__init__(daemon=True)
        self._board = board
        self._ended = threading.Event()
        self.sent = 0
        self.t_us = 100_000

    def run(self):
        """Show readings at the pace of the wall clock."""
        begin_s = time.monotonic()
        while not self._ended.is_set():
            edges = list(edges_of(self.t_us, word_of(self.sent % 0x10000, inch=True)))
            self._board.send_edges(edges)
            self._board.pass_time(edges[-1][0] + 5_000)
            self.sent += 1
            self.t_us += int(SPACING_S * 1e6)
            time.sleep(max(0.0, begin_s + self.sent * SPACING_S - time.monotonic()))

    def stop(self):
        """End, and return the board's time."""
        self._ended.set()
        self.join()
        return self.t_us


@dataclass
class Figures:
    """What came of it."""

    captures: int = 0
    kills: int = 0
    replugs: int = 0
    readings: int = 0
    begun_anew: int = 0
    sealed_later: int = 0
    failures: list[str] = field(default_factory=list)
    resume_s: list[float] = field(default_factory=list)
    back_s: list[float] = field(default_factory=list)


def records_on_disk(path):
    """Count whole record lines; 0 where there is no file."""
    data = path.read_bytes() if path.exists() else b""
    return data[: data.rfind(b"\n") + 1].count(b'\n{"record":"')


class Life:
    """One capture, from the first word to the verdict on what is on disk."""

    def __init__(self, rng, folder, figures):
        self.rng = rng
        self.figures = figures
        self.folder = folder
        self.path = folder / "a.capture"
        self.rockhold = Rockhold(folder.parent / "home")
        (folder / "secret").write_bytes(SECRET)
        flash = folder / "flash"
        flash.mkdir()
        # With and without a flash: then the board's ring alone must bridge the gaps.
        self.board = UnixBoard(
            secret_file=folder / "secret", flash=flash if rng.random() < 0.5 else None
        )

    def begin(self, port):
        """Start the host: go on with what is on disk, or begin where no record is there yet."""
        more = ["--resume"] if self.path.exists() else []
        return self.rockhold.start("record", self.path, *WHO, "--port", port, *more)

    def killed(self, kills):
        """Live through so many kills; the button is pressed before the last few."""
        with self.board:
            gauge = Gauge(self.board)
            before_button = self.rng.randrange(kills // 2, kills + 1)
            for number in range(kills):
                running = self._until_killed(gauge)
                if number == before_button and gauge.is_alive():
                    self.board.press_button(gauge.stop())
                running.kill()
                running.communicate()
                self.figures.kills += 1
                self._clear_what_holds_nothing()
            self._to_the_end(gauge)
        self._judge(gauge)

    def _until_killed(self, gauge):
        before = records_on_disk(self.path)
        begin_s = time.monotonic()
        running = self.begin(self.board.device)
        end_s = begin_s + self.rng.uniform(0, _LONGEST_LIFE_S)
        came = False
        while time.monotonic() < end_s:
            if not came and records_on_disk(self.path) > before:
                came = True
                if before:
                    self.figures.resume_s.append(time.monotonic() - begin_s)
                elif not gauge.sent:
                    gauge.start()
            time.sleep(0.005)
        return running

    def _clear_what_holds_nothing(self):
        """Remove a file that was made but not written to, as its sentence says."""
        try:
            if self.path.exists():
                read_capture(self.path)
        except CaptureFormatError:
            self.path.unlink()
            self.figures.begun_anew += 1

    def _to_the_end(self, gauge):
        for _ in range(3):
            running = self.begin(self.board.device)
            if not gauge.sent:
                wait_until(lambda: records_on_disk(self.path) > 0, _PATIENCE_S)
                gauge.start()
                time.sleep(0.2)
            if gauge.is_alive():
                self.board.press_button(gauge.stop())
            out, err = running.communicate(timeout=_PATIENCE_S)
            if running.returncode in MEASURED or self._is_finished():
                return
        raise AssertionError(f"exit {running.returncode}: {out}{err}")

    def _is_finished(self):
        """Say whether a process was killed after its last write; seal what only lacks the seal."""
        capture = read_capture(self.path)
        if not capture.seals and capture.of_kind("result"):
            self.figures.sealed_later += 1
            done = self.rockhold("seal", self.path)
            assert done.returncode == exits.OK, done.stderr
            return True
        return bool(capture.seals)

    def unplugged(self, times):
        """Live through so many pulled cables, with one host process."""
        with self.board, Cable(self.board.device, self.folder / "port") as cable:
            gauge = Gauge(self.board)
            running = self.begin(cable.path)
            wait_until(lambda: records_on_disk(self.path) > 0, _PATIENCE_S)
            gauge.start()
            for _ in range(times):
                time.sleep(self.rng.uniform(0.0, 0.8))
                cable.pull()
                time.sleep(self.rng.uniform(0.0, _LONGEST_ABSENCE_S))
                before = records_on_disk(self.path)
                cable.plug()
                back_s = time.monotonic()
                wait_until(lambda held=before: records_on_disk(self.path) > held, _PATIENCE_S)
                self.figures.back_s.append(time.monotonic() - back_s)
                self.figures.replugs += 1
            self.board.press_button(gauge.stop())
            out, err = running.communicate(timeout=_PATIENCE_S)
            assert running.returncode in MEASURED, out + err
        self._judge(gauge)

    def _judge(self, gauge):
        counts = load_trace(self.path).count.tolist()
        wanted = list(range(gauge.sent))
        assert counts == wanted, f"{len(counts)} readings of {len(wanted)}, or out of order"
        done = self.rockhold("verify", self.path)
        assert done.returncode == exits.OK, done.stdout + done.stderr
        self.figures.captures += 1
        self.figures.readings += len(counts)


def run(seed, kills, replugs, each=12, out=None):
    """Kill and unplug so many times and return the figures; failures raise without `out`."""
    figures = Figures()
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        rockhold = Rockhold(root / "home")
        key = Identity("", SECRET).public_key.hex()
        for words in (
            ("keys", "make", WHO[1], "--role", "technician"),
            ("keys", "trust", key, "--role", "board", "--name", "bench", "--yes"),
        ):
            done = rockhold(*words)
            assert done.returncode == exits.OK, done.stderr
        works = [(Life.killed, min(each, kills - at)) for at in range(0, kills, each)]
        works += [(Life.unplugged, min(each, replugs - at)) for at in range(0, replugs, each)]
        for number, (work, times) in enumerate(works):
            folder = root / str(number)
            folder.mkdir()
            try:
                work(Life(random.Random(seed * 100_000 + number), folder, figures), times)
            except Exception as error:
                if out is None:
                    raise
                figures.failures.append(f"seed {seed}, capture {number}: {error!r}")
                print(figures.failures[-1], file=out, flush=True)
            if out is not None:
                print(f"{number + 1} of {len(works)} captures", file=out, flush=True)
    return figures


def spread(times_s):
    """Return median and longest as text."""
    if not times_s:
        return "none"
    return f"median {statistics.median(times_s):.2f} s, longest {max(times_s):.2f} s"


def main():
    """Parse the command line and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kills", type=int, default=300)
    parser.add_argument("--replugs", type=int, default=300)
    chosen = parser.parse_args()
    f = run(chosen.seed, chosen.kills, chosen.replugs, out=sys.stderr)
    print(f"{f.captures} captures, {f.readings} readings, each once and in order")
    print(f"{f.kills} processes killed, {f.replugs} terminals closed and reopened")
    print(f"{f.begun_anew} begun anew (killed before line 1), {f.sealed_later} sealed later")
    print(f"from the new process's start to its first record on disk: {spread(f.resume_s)}")
    print(f"from the terminal's return to the first record on disk: {spread(f.back_s)}")
    print(f"{len(f.failures)} failures")
    sys.exit(bool(f.failures))


if __name__ == "__main__":
    main()
