"""Jobs made by hand, piece by piece: rests, rocks and holds at levels that a test names."""

from dataclasses import dataclass, replace

import numpy as np

from rockhold.measure.coordinate import coordinate
from rockhold.measure.trace import Trace, UnitSpan


@dataclass(frozen=True)
class Kind:
    """A gauge, and what a hand does there, in its counts."""

    step_mm: float
    rate_hz: float
    side: float  # half the end play
    swing: float
    tremor: float


FINE_KIND = Kind(0.00127, 20.0, 30.0, 8.0, 0.5)
COARSE_KIND = Kind(0.01, 10.0, 4.2, 0.8, 0.1)
KINDS = (FINE_KIND, COARSE_KIND)


@dataclass(frozen=True)
class Job:
    """Readings of a job before rounding, and (first, end) of each of its pieces."""

    kind: Kind
    exact: np.ndarray
    pieces: tuple[tuple[int, int], ...]

    @property
    def end_play_mm(self):
        return 2 * self.kind.side * self.kind.step_mm

    def at(self, piece, share=0.0):
        """Return the reading at a share of a piece."""
        first, end = self.pieces[piece]
        return first + round(share * (end - first))

    def s(self, index):
        """Return the time of a reading."""
        return index / self.kind.rate_hz

    def moved(self, first, end, by):
        """Return the job with some readings moved by so many counts."""
        exact = self.exact.copy()
        exact[first:end] += by
        return replace(self, exact=exact)

    def stood(self, first, end, level):
        """Return the job with some readings at one count."""
        exact = self.exact.copy()
        exact[first:end] = level
        return replace(self, exact=exact)

    def pressed(self, *at):
        """Return the job with the gauge's zero pressed at these readings."""
        exact = self.exact.copy()
        for index in at:
            exact[index:] -= np.rint(exact[index])
        return replace(self, exact=exact)

    def trace(self):
        count = np.rint(self.exact).astype(np.int64)
        t_us = np.rint(np.arange(len(count)) * 1e6 / self.kind.rate_hz).astype(np.int64)
        return Trace(t_us, count, (UnitSpan(0, "mm", self.kind.step_mm),))

    def axis(self):
        return coordinate(self.trace())


def in_finer_counts(axis, times=8):
    """Return the same readings as of a gauge that once showed a unit so many times finer."""
    finer = replace(axis, count=axis.count * times, step_mm=axis.step_mm / times)
    return replace(finer, digit=float(times))


def job(kind, pieces, seed=9, change_s=0.3):
    """Return a job of pieces (what, level, seconds), what being "rock" or anything quiet."""
    rng = np.random.default_rng(seed)
    many = [round(long_s * kind.rate_hz) for _, _, long_s in pieces]
    level = np.repeat([level for _, level, _ in pieces], many).astype(np.float64)
    # The hub takes its time from level to level.
    window = max(1, round(change_s * kind.rate_hz))
    level = np.convolve(np.pad(level, (window - 1, 0), mode="edge"), np.ones(window) / window)
    exact = level[window - 1 : window - 1 + sum(many)] + rng.normal(0, kind.tremor, sum(many))
    ends = np.cumsum(many).tolist()
    spans = tuple(zip([0, *ends[:-1]], ends, strict=True))
    for (what, _, _), (first, end) in zip(pieces, spans, strict=True):
        if what == "rock":
            t_s = np.arange(end - first) / kind.rate_hz
            exact[first:end] += kind.swing * np.sin(2 * np.pi * 0.9 * t_s)
    return Job(kind, exact, spans)


def cycles(kind, n=3, about=0.0, rock_s=2.7, hold_s=1.8):
    """Return the pieces of so many cycles about a level: rock, hold, rock, hold, ..."""
    pieces = []
    for k in range(2 * n):
        level = about + (kind.side if k % 2 == 0 else -kind.side)
        pieces += [("rock", level, rock_s), ("hold", level, hold_s)]
    return pieces
