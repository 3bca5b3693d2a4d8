"""A pressed zero that the holds' levels cannot show: before the first hold, or in the last one.

No hold lies on one side of such a press, so no level is off. But the indication jumps from where it
stands still to zero, between two readings, and all that lies beyond the jump is out of the holds'
range. A plunger that falls into a hole comes back; one that hangs moves no more.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import Choice, choose, side_distance
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.hanging import HANGING_S
from rockhold.measure.holds import Hold, is_coarse
from rockhold.measure.steps import FoundStep, stood, zero_candidates, zero_step

Ints = NDArray[np.int64]

FEWEST = 3  # holds; with less nobody can say where the sides are
BEYOND_S = 1.0  # on the far side of a press, looked at for where the indication was
BEYOND_MM, BEYOND_DIGITS = 0.015, 2.0  # out of the holds' range: runout and seating go less far
MOST_INSIDE = 0.1  # of the readings beyond a press
# A jump that stays within the range may be the wheel let go; that it ends on zero by chance is
# unlikely only where there are many counts between the sides.
OFF_DIGITS = 1.5
ENOUGH_DIGITS = 8.0


@dataclass(frozen=True, slots=True)
class _Range:
    """Where the readings of the work lie, in counts."""

    low: float
    high: float

    def out_of(self, count: Ints) -> NDArray[np.bool_]:
        """Return which readings lie outside."""
        return np.asarray((count < self.low) | (count > self.high))


def find_press_beside(
    axis: Coordinate, shown: Ints, holds: list[Hold], band: int
) -> FoundStep | None:
    """Return a press of zero before the first hold or after the last one began; None without."""
    standing = [index for index in zero_candidates(axis, shown, band) if stood(axis, index)]
    choice = choose(axis, holds) if standing else None
    if choice is None or len(choice.holds) < FEWEST:
        return None
    levels = [hold.level for hold in choice.holds]
    slack = max(BEYOND_MM / axis.step_mm, BEYOND_DIGITS * axis.digit)
    work = _Range(min(levels) - slack, max(levels) + slack)
    opening = next((hold for hold in choice.holds if hold.rocked), choice.holds[0])
    for index in standing:
        early = index <= opening.end
        if early or index > choice.holds[-1].first:
            edge_s = axis.t_s[index] + (-BEYOND_S if early else BEYOND_S)
            other = int(np.searchsorted(axis.t_s, edge_s))
            beyond = axis.count[other:index] if early else axis.count[index:other]
            if not len(beyond) or (not early and _hangs(axis, index)):
                continue
            rests = [h for h in holds if (h.first >= index if early else h.end <= index)]
            if _is_press(axis, choice, work, beyond, early) and not _left(axis, rests, beyond):
                return zero_step(axis, index)
    return None


def _is_press(axis: Coordinate, choice: Choice, work: _Range, beyond: Ints, early: bool) -> bool:
    """Return whether what lies beyond a jump to zero cannot be the hub's own motion."""
    if (~work.out_of(beyond)).mean() <= MOST_INSIDE:
        return True
    sides = side_distance(choice)
    if sides < ENOUGH_DIGITS * axis.digit:
        return False
    # Within the range, but at neither side.
    level = float(np.median(beyond))
    if early and not work.low <= level <= work.high:
        return False  # out of it for a part of the time: a plunger that comes back from a hole
    return min(abs(hold.level - level) for hold in choice.holds) > max(
        0.15 * sides, OFF_DIGITS * axis.digit
    )


def _left(axis: Coordinate, rests: list[Hold], beyond: Ints) -> bool:
    """Return whether the wheel may have been left alone where it is found at the other end, too.

    Often the zero is set there, and a coarse gauge shows the wheel let go from one reading to the
    next.
    """
    level = float(np.median(beyond))
    return is_coarse(axis) and any(abs(hold.level - level) <= axis.digit for hold in rests)


def _hangs(axis: Coordinate, index: int) -> bool:
    """Return whether the plunger hangs from a reading on: it moves no more, to the end."""
    beyond = axis.count[index:]
    return bool(len(beyond) * axis.spacing_s >= HANGING_S and np.ptp(beyond) <= axis.digit)
