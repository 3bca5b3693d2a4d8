"""Steps of the coordinate: the gauge's zero was pressed, or its base was knocked.

A pressed zero lands on zero from one reading to the next and stays: every later level is off by
the same amount. A knocked base shifts all later levels, too, but to anywhere. In both cases the
levels fall into more than two groups, and moving the later ones back makes them two again.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold
from rockhold.measure.sides import spread_within, upper_group

Floats = NDArray[np.float64]

LEVEL_SCATTER_MM = 0.0025  # levels of one side scatter less than this (hand and stopping angle)


@dataclass(frozen=True, slots=True)
class FoundStep:
    """A step of the coordinate.

    Attributes:
        kind: "zero_pressed" or "base_moved".
        index: First reading after the step.
        at_s: Time of that reading, in seconds.
        size: By how much the coordinate jumped, in counts.
        u: Standard uncertainty of the size, in counts; infinite if only the levels tell.
    """

    kind: str
    index: int
    at_s: float
    size: int
    u: float


def _tolerance(axis: Coordinate) -> float:
    """Return the spread within sides that needs no step to explain it, in counts."""
    return float(np.hypot(0.45 * axis.digit, LEVEL_SCATTER_MM / axis.step_mm))


def _spread(levels: Floats) -> float:
    return spread_within(levels, upper_group(levels))


def zero_candidates(axis: Coordinate, band: int) -> list[int]:
    """Return the readings that lie at zero and came there by a jump."""
    count = axis.count
    jump = np.abs(np.diff(count))
    near = np.abs(count[1:]) <= max(1, band // 3)
    found = np.flatnonzero(near & (jump >= max(3 * axis.digit, band / 2))) + 1
    return [int(i) for i in found]


def find_step(axis: Coordinate, holds: list[Hold], band: int) -> FoundStep | None:
    """Return the step that explains the levels best, or None if they need none."""
    if len(holds) < 3:
        return None
    levels = np.array([hold.level for hold in holds])
    before = _spread(levels)
    enough = _tolerance(axis)
    if before <= enough:
        return None
    best: tuple[float, FoundStep] | None = None
    for index in zero_candidates(axis, band):
        size = int(axis.count[index] - axis.count[index - 1])
        after = _spread(levels - size * np.array([hold.first >= index for hold in holds]))
        motion = float(np.median(np.abs(np.diff(axis.count[max(0, index - 6) : index]))))
        u = float(np.hypot(axis.digit / np.sqrt(6), motion))
        if best is None or after < best[0]:
            best = after, FoundStep("zero_pressed", index, float(axis.t_s[index]), size, u)
    if best is not None and best[0] <= max(1.5 * enough, 0.3 * before):
        return best[1]
    return _base_step(axis, holds, levels, before, enough)


def _base_step(
    axis: Coordinate, holds: list[Hold], levels: Floats, before: float, enough: float
) -> FoundStep | None:
    """Return the shift of all holds from one on that makes the levels two groups again."""
    best_spread, best_at, best_size = before, 0, 0.0
    for at in range(1, len(levels)):
        for size in (levels[at:, None] - levels[None, :at]).ravel():
            moved = levels.copy()
            moved[at:] -= size
            spread = _spread(moved)
            if spread < best_spread:
                best_spread, best_at, best_size = spread, at, float(size)
    if best_spread > max(1.5 * enough, 0.3 * before) or abs(best_size) < 4 * enough:
        return None
    index = _jump_between(axis, holds[best_at - 1], holds[best_at], best_size)
    at_s = float(axis.t_s[index])
    return FoundStep("base_moved", index, at_s, round(best_size), float("inf"))


def _jump_between(axis: Coordinate, hold: Hold, later: Hold, size: float) -> int:
    """Return where between two holds the jump of about this size is most abrupt."""
    first, end = hold.end - 1, later.first + 1
    change = np.diff(axis.count[first:end]) * np.sign(size)
    return first + 1 + int(np.argmax(change))


def without_step(axis: Coordinate, step: FoundStep) -> Coordinate:
    """Return the coordinate as it would be without the step."""
    count = axis.count.copy()
    count[step.index :] -= step.size
    return replace(axis, count=count)
