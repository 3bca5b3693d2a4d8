"""What is no hold of a side though the indication stands still: rests, pauses, the wheel let go."""

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold

Bools = NDArray[np.bool_]

EARLY_S = 1.5
SHORTEST_VISIT_S = 1.5  # change of sides, a few strokes, a hold
LONGEST_REST_S = 3.0  # between two pulls; a coarse gauge shows rocking and hold as one, longer
LET_GO_MM = 0.002  # a hand that still holds moves the hub by no more
ROCKED_S = 1.5  # from the change of sides to a hold, at least
AT_ONCE_S = 1.0  # from a hold to what follows when the hands let go


def inward(before: Hold, hold: Hold, upper: bool) -> float:
    """Return how much nearer to the other side a hold lies than the one before it, in counts."""
    return before.level - hold.level if upper else hold.level - before.level


def without_let_go(
    axis: Coordinate, holds: list[Hold], upper: Bools, middle: float
) -> tuple[list[Hold], Bools]:
    """Drop the wheel let go after a hold: it slides back towards the other side and rests there.

    A hold that begins as soon as the hub has come is none, but rocking that hardly shows; then
    what follows it further inward is the hold, with less force.

    Args:
        axis: The readings.
        holds: In the order of time.
        upper: For each, whether it is on the upper side.
        middle: A level between the sides, in counts.
    """
    slack = max(axis.digit, LET_GO_MM / axis.step_mm)
    changes = np.flatnonzero(np.diff(axis.count > middle)) + 1
    kept: list[int] = []
    for i, hold in enumerate(holds):
        before = holds[kept[-1]] if kept and upper[kept[-1]] == upper[i] else None
        if before is not None and not hold.rocked and hold.start_s - before.end_s <= AT_ONCE_S:
            came = int(np.searchsorted(changes, before.first, side="right"))
            came_s = float(axis.t_s[changes[came - 1]]) if came else float(axis.t_s[0])
            if inward(before, hold, bool(upper[i])) > slack and before.start_s - came_s >= ROCKED_S:
                continue
        kept.append(i)
    return [holds[i] for i in kept], upper[kept]


def without_rests(holds: list[Hold], upper: Bools) -> tuple[list[Hold], Bools]:
    """Drop visits too short for a rock and a hold: between two pulls the wheel only rested."""
    kept: list[int] = []
    for i in range(len(holds)):
        if kept and upper[i] != upper[kept[-1]]:
            stay_s = _leaves_s(holds, upper, i) - holds[kept[-1]].end_s
            if stay_s < SHORTEST_VISIT_S:
                continue
        kept.append(i)
    return [holds[i] for i in kept], upper[kept]


def _leaves_s(holds: list[Hold], upper: Bools, i: int) -> float:
    """Return when the visit that contains hold i has its last quiet moment, in seconds."""
    while i + 1 < len(holds) and upper[i + 1] == upper[i]:
        i += 1
    return holds[i].end_s


def without_early(holds: list[Hold], upper: Bools) -> tuple[tuple[Hold, ...], Bools]:
    """Drop pauses soon after a change of sides if the same visit has a later hold.

    The rollers are not seated yet when the wheel pauses between two of the first strokes.
    """
    kept = []
    for i, hold in enumerate(holds):
        changed = i > 0 and upper[i] != upper[i - 1]
        again = i + 1 < len(holds) and upper[i + 1] == upper[i]
        if changed and again and hold.start_s - holds[i - 1].end_s < EARLY_S:
            continue
        kept.append(i)
    return tuple(holds[i] for i in kept), upper[kept]


def only_alone(holds: tuple[Hold, ...], upper: Bools) -> bool:
    """Return whether one group is nothing but the wheel left alone at the start or the end."""
    for side in (True, False):
        group = np.flatnonzero(upper == side)
        others = len(holds) - len(group)
        if others >= 3 and all(
            i in (0, len(holds) - 1) or _may_be_rest(holds[i]) for i in group.tolist()
        ):
            return len(group) <= 2
    return False


def _may_be_rest(hold: Hold) -> bool:
    """Return whether the wheel may have been left alone between two pulls to one side."""
    return not hold.rocked and hold.end_s - hold.start_s < LONGEST_REST_S
