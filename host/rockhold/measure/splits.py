"""Part a stretch of readings where its level or its scatter changes, by likelihood."""

from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.coordinate import Coordinate

Ints = NDArray[np.int64]

EDGE_GAIN = 5.0
TREMOR_HZ = 20.0
CUT = 100_000  # counts


@dataclass(frozen=True, slots=True)
class Sums:
    """Sums of the first 0, 1, 2 ... counts and of their squares; exact whole numbers."""

    counts: Ints
    squares: Ints


def sums_of(count: Ints) -> Sums:
    """Return the sums over a trace; counts far from the middle are cut, they are in no hold."""
    near = np.clip(count - np.partition(count, len(count) // 2)[len(count) // 2], -CUT, CUT)
    return Sums(np.concatenate(([0], near.cumsum())), np.concatenate(([0], (near * near).cumsum())))


def best_split(axis: Coordinate, sums: Sums, first: int, end: int) -> int:
    """Return the index that parts a quiet stretch best into two, or `first` if none is needed.

    Compares one normal distribution for the stretch with two, before and after each index; a
    count's own variance (1/12) keeps constant readings from counting as perfect knowledge.
    """
    n = end - first
    if n < 8:
        return first
    total = sums.counts[first + 2 : end + 1] - sums.counts[first]
    squares = sums.squares[first + 2 : end + 1] - sums.squares[first]
    all_counts, all_squares = int(total[-1]), int(squares[-1])
    whole = (n * all_squares - all_counts**2) / n**2
    if whole == 0:
        return first
    total, squares = total[:-2], squares[:-2]
    before = np.arange(2.0, n - 1)
    after = n - before
    gain = before * np.log((squares - total * total / before) / before + 1 / 12)
    total, squares = all_counts - total, all_squares - squares
    gain += after * np.log((squares - total * total / after) / after + 1 / 12)
    best = int(gain.argmin())
    # Readings that follow each other faster than the hand trembles tell little new.
    share = 0.5 * min(1.0, axis.spacing_s * TREMOR_HZ)
    won = share * (n * log(whole + 1 / 12) - float(gain[best]))
    return first + best + 2 if won > EDGE_GAIN else first
