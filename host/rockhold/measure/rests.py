"""What is no hold of a side though the indication stands still: rests, pauses, the wheel let go."""

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.holds import Hold

Bools = NDArray[np.bool_]

EARLY_S = 1.5
SHORTEST_VISIT_S = 1.5  # change of sides, a few strokes, a hold
LONGEST_REST_S = 3.0  # between two pulls; a coarse gauge shows rocking and hold as one, longer
AT_ONCE_S = 0.5


def without_let_go(holds: list[Hold], places: list[float]) -> list[Hold]:
    """Drop what follows the last hold at once, or that hold, whichever lies further from a side."""
    if len(holds) < 2 or holds[-1].rocked or holds[-1].start_s - holds[-2].end_s > AT_ONCE_S:
        return holds
    near = [min(places, key=lambda place: abs(hold.level - place)) for hold in holds[-2:]]
    if near[0] != near[1]:
        return holds
    before, after = (abs(hold.level - near[0]) for hold in holds[-2:])
    return holds[:-1] if after >= before else [*holds[:-2], holds[-1]]


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
