"""How far the wheel turned and when it stood still, from the turning rate of a sensor on the hub.

A turning rate sensor shows some degrees a second while it stands still, more or less by its
warmth. What it shows in the stillest seconds is taken off, else a minute of standing would look
like a turn.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rockwire.guide import STILL_DEG_S

Floats = NDArray[np.float64]
Spans = NDArray[np.float64]
Ints = NDArray[np.int64]

_PIECE_S = 0.5
_STILL_DEG_S = 1.5  # standard deviation in a piece in which nothing turns
_LARGEST_BIAS_DEG_S = 30.0  # a larger one is turning, or a broken sensor
_TURN_ROUND_S = 0.4
_DEAD_DEG_S = 2.0  # slower than this the wheel stands
LONGEST_GAP_S = 0.5  # over a longer gap in the readings nothing can be said


@dataclass(frozen=True, slots=True)
class Turning:
    """The turning rate of a hub over time, with the sensor's offset taken off.

    Attributes:
        t_s: Time of each reading, in s.
        rate_deg_s: Turning rate, in °/s.
        bias_deg_s: What was taken off.
    """

    t_s: Floats
    rate_deg_s: Floats
    bias_deg_s: float

    @classmethod
    def of(cls, t_us: Ints, rate_deg_s: Floats) -> "Turning":
        """Return the turning rate of a capture's readings.

        Args:
            t_us: Time of each reading, in µs; never goes back.
            rate_deg_s: What the sensor shows, in °/s.
        """
        t_s = t_us / 1e6
        bias = _bias(t_s, rate_deg_s)
        return cls(t_s, rate_deg_s - bias, bias)

    def still_spans(self) -> Spans:
        """Return (from, to) of each stretch in which the wheel stood still, in s; shape (n, 2).

        A single sample does not say that it turned; silence of the sensor ends a stretch.
        """
        fast = np.abs(self.rate_deg_s) > STILL_DEG_S / 2
        beside = np.concatenate(([False], fast[:-1])) | np.concatenate((fast[1:], [False]))
        still = ~(fast & beside)
        follows = still[1:] & still[:-1] & (np.diff(self.t_s) <= LONGEST_GAP_S)
        first = np.flatnonzero(still & ~np.concatenate(([False], follows)))
        last = np.flatnonzero(still & ~np.concatenate((follows, [False])))
        return np.column_stack((self.t_s[first], self.t_s[last]))

    def turned_spans(self) -> Spans:
        """Return (from, to) of each stretch in which the wheel turned or was rocked, in s.

        Where a rock turns round the wheel stands for a moment; that ends no stretch.
        """
        if not len(self.t_s):
            return np.empty((0, 2))
        still = self.still_spans()
        still = still[still[:, 1] - still[:, 0] >= _TURN_ROUND_S]
        edges = np.concatenate((self.t_s[:1], still.ravel(), self.t_s[-1:])).reshape(-1, 2)
        return edges[edges[:, 1] - edges[:, 0] > _PIECE_S / 5]

    def fastest_deg_s(self, from_s: float, to_s: float) -> float:
        """Return the largest turning rate between two times, in °/s; 0 without readings."""
        first, last = np.searchsorted(self.t_s, [from_s, to_s])
        return float(np.abs(self.rate_deg_s[first:last]).max(initial=0.0))

    def heard(self, from_s: float, to_s: float) -> bool:
        """Return whether the sensor was heard all the time between two times."""
        first, last = np.searchsorted(self.t_s, [from_s, to_s])
        edges = np.concatenate(([from_s], self.t_s[first:last], [to_s]))
        return bool(last - first >= 2 and np.diff(edges).max() <= LONGEST_GAP_S)

    def turned_rev(self, from_us: int, to_us: int) -> float | None:
        """Return how far the wheel turned between two times, to and fro added up, in turns.

        None where the sensor was not heard all the time.
        """
        first, last = np.searchsorted(self.t_s, [from_us / 1e6, to_us / 1e6])
        times, rates = self.t_s[first:last], self.rate_deg_s[first:last]
        if not self.heard(from_us / 1e6, to_us / 1e6):
            return None
        moving = np.where(np.abs(rates) > _DEAD_DEG_S, np.abs(rates), 0.0)
        return float(np.sum((moving[1:] + moving[:-1]) / 2 * np.diff(times))) / 360


def _bias(t_s: Floats, rate: Floats) -> float:
    """Return what the sensor shows when it stands: the middle of its still pieces."""
    if not len(t_s):
        return 0.0
    pieces = ((t_s - t_s[0]) / _PIECE_S).astype(np.int64)
    starts = np.flatnonzero(np.diff(pieces, prepend=-1))
    means = []
    for first, last in zip(starts, np.append(starts[1:], len(rate)), strict=True):
        part = rate[first:last]
        mean = float(part.mean())
        if len(part) > 3 and part.std() < _STILL_DEG_S and abs(mean) < _LARGEST_BIAS_DEG_S:
            means.append(mean)
    return float(np.median(means)) if means else 0.0
