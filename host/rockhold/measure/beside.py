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
from rockhold.measure.holds import Hold, is_coarse
from rockhold.measure.steps import FoundStep, zero_candidates, zero_step

Ints = NDArray[np.int64]

BESIDE_S = 0.2  # before a press, the indication stands for at least so long
BEND_SHARE = 0.3  # of the jump: the finger on the button pushes the gauge, too
BEYOND_MM, BEYOND_DIGITS = 0.015, 2.0  # out of the holds' range: runout and seating go less far
MOST_INSIDE = 0.1  # of the readings beyond a press
HANGS_S = 2.5  # on one count for longer than that, the plunger hangs
# A jump that stays within the range may be the wheel let go; that it ends on zero by chance is
# unlikely only where there are many counts between the sides.
ENOUGH_DIGITS = 20.0


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
    if len(holds) < 4:
        return None
    choice = choose(axis, holds)
    if not choice.two_sided:
        return None
    levels = [hold.level for hold in choice.holds]
    slack = max(BEYOND_MM / axis.step_mm, BEYOND_DIGITS * axis.digit)
    work = _Range(min(levels) - slack, max(levels) + slack)
    first, last = choice.holds[0].end, choice.holds[-1].first
    for index in zero_candidates(axis, shown, band):
        if (index <= first or index > last) and _jumped(axis, index):
            beyond = axis.count[:index] if index <= first else axis.count[index:]
            if _is_press(axis, choice, work, index, beyond):
                return zero_step(axis, index, int(axis.count[index] - axis.count[index - 1]))
    return None


def _jumped(axis: Coordinate, index: int) -> bool:
    """Return whether the indication stood, jumped between two readings, and stayed about there."""
    many = max(3, round(BESIDE_S / axis.spacing_s))
    before, after = axis.count[max(0, index - many) : index], axis.count[index : index + many]
    if len(after) < 3:
        return False
    jump = abs(int(axis.count[index] - axis.count[index - 1]))
    most = max(axis.digit, BEND_SHARE * jump)
    return bool(np.ptp(before) <= most and np.ptp(after) <= most)


def _is_press(
    axis: Coordinate, choice: Choice, work: _Range, index: int, beyond: Ints
) -> bool:
    """Return whether what lies beyond a jump to zero cannot be the hub's own motion."""
    if (~work.out_of(beyond)).mean() <= MOST_INSIDE:
        return not _hangs(axis, beyond)
    sides = side_distance(choice)
    if is_coarse(axis) or sides < ENOUGH_DIGITS * axis.digit or index <= choice.holds[0].end:
        return False
    # Within the range, but at neither side.
    level = float(np.median(beyond[: max(3, round(1.0 / axis.spacing_s))]))
    return min(abs(hold.level - level) for hold in choice.holds) > 0.15 * sides


def _hangs(axis: Coordinate, beyond: Ints) -> bool:
    return bool(len(beyond) * axis.spacing_s >= HANGS_S and np.ptp(beyond) <= axis.digit)
