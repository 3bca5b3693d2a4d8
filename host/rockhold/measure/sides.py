"""Tell out-holds from in-holds: two groups of levels, parted where they differ most."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def upper_group(levels: Floats, weights: Floats | None = None) -> Bools:
    """Return which levels belong to the upper one of two groups.

    Args:
        levels: The levels.
        weights: How much each counts; all the same if not given.

    The parting is the one with the least sum of squares inside the groups (exact, since the
    levels are on a line). With fewer than two levels all are lower.
    """
    n = len(levels)
    if n < 2:
        return np.zeros(n, dtype=np.bool_)
    order = np.argsort(levels, kind="stable")
    mass = np.ones(n) if weights is None else weights[order]
    below = np.cumsum(mass)
    ordered = levels[order] - (mass @ levels[order]) / below[-1]
    total = np.cumsum(mass * ordered)[:-1]
    between = total**2 / below[:-1] + total**2 / (below[-1] - below[:-1])
    edge = int(np.argmax(between)) + 1
    upper = np.zeros(n, dtype=np.bool_)
    upper[order[edge:]] = True
    return upper


def distance(levels: Floats, upper: Bools) -> float:
    """Return how far the two groups' means lie apart; 0 with one group."""
    if not upper.any() or upper.all():
        return 0.0
    return float(levels[upper].mean() - levels[~upper].mean())


def last_of_visits(upper: Bools) -> list[int]:
    """Return the last one of each visit: those in a row on one side."""
    return [i for i in range(len(upper)) if i + 1 == len(upper) or upper[i + 1] != upper[i]]


def spread_within(levels: Floats, upper: Bools) -> float:
    """Return the root mean square deviation from the two groups' means."""
    squares = 0.0
    for group in (levels[upper], levels[~upper]):
        if len(group):
            squares += float(((group - group.mean()) ** 2).sum())
    return float(np.sqrt(squares / max(1, len(levels))))
