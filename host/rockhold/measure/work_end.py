"""The end of the work, as the board told it: the asked holds are all done.

Common practice, no source: a hub stays where it was pushed last, until somebody moves it. So the
wheel often stands on while somebody walks to the computer; its one count, shown for longer than
anything else, would pass for a frozen gauge or a plunger at its stop. The readings alone cannot
tell the two apart. The board notes each hold that it tells (`hold_told`).
"""

from dataclasses import replace

import numpy as np

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.trace import Mark

HOLD_TOLD = "hold_told"
HELD_ON_S = 1.5  # of the last hold, after what made it one


def without_wait(axis: Coordinate, marks: tuple[Mark, ...], limits: EndPlayLimits) -> Coordinate:
    """Return the readings up to the end of the work; all of them where nothing tells it."""
    told_us = [mark.t_us for mark in marks if mark.code == HOLD_TOLD]
    if len(told_us) < 2 * limits.cycles_asked:
        return axis
    end = int(np.searchsorted(axis.t_s, max(told_us) * 1e-6 + HELD_ON_S, side="right"))
    if end < 2 or axis.t_s[end - 1] - axis.t_s[0] < len(told_us) * limits.hold_s:
        return axis  # nobody holds so often in so short a time
    return replace(axis, t_s=axis.t_s[:end], count=axis.count[:end])
