"""Tell a pressed zero from a knocked base, by what each of them makes probable.

A press sets the indication to zero, and the hub may move on until the next reading comes: that
reading lies between zero and what the hub moved within one spacing. After a knock it may lie
anywhere. So a reading that lies there speaks for the press the more, the less the hub moved.
"""

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.coordinate import Coordinate

Ints = NDArray[np.int64]

KNOCK_MM = 0.6  # a knock's shift lies in a range about this wide: -0.3 to +0.3 mm
# Where the readings that a press allows fill more of that range, a knock explains them nearly as
# well (five to one is the weakest evidence that is called a press).
CHANCE = 0.2
TREMOR_MM = 0.0013  # a hand that holds still moves the indication by no more
# Setting off, a hub moves up to this many times further than in the spacing that follows. A knock
# that a lagging gauge shows in parts seems to do the opposite: its parts go the same way.
FASTER = 3


def pressed_at(
    axis: Coordinate, shown: Ints, between: tuple[int, int], size: float, u_size: float
) -> int | None:
    """Return the first reading after a pressed zero, or None if a knock is more likely.

    Args:
        axis: The readings, earlier steps taken out.
        shown: The same readings as the gauge showed them, in counts.
        between: The step came after the first of these readings and not after the second.
        size: By how much the coordinate stepped, in counts.
        u_size: How uncertain that is, in counts.
    """
    first, last = between
    if last <= first:
        return None
    change = np.diff(axis.count[first : last + 1])
    moved = np.abs(change - size)
    slack = axis.digit + u_size
    # Taking the step out anywhere else leaves its jump standing and adds another one.
    rougher = moved - np.abs(change)
    likely = np.flatnonzero(rougher <= rougher.min() + slack)
    if float((moved[likely] + 2 * slack).sum()) > CHANCE * KNOCK_MM / axis.step_mm:
        return None
    at = first + 1 + likely
    change_by = change[likely] - size
    low, high = _as_beside(axis, at)
    landing = shown[at] * np.where(change_by < 0, -1, 1)
    reach = np.where(change_by < 0, -low, high) * FASTER
    edge = max(0.5 * axis.digit, TREMOR_MM / axis.step_mm)
    fits = (landing >= -edge) & (landing <= np.minimum(moved[likely] + u_size, reach) + edge)
    fits &= (change_by >= FASTER * low - slack) & (change_by <= FASTER * high + slack)
    return int(at[fits][np.argmin(moved[likely][fits])]) if fits.any() else None


def _as_beside(axis: Coordinate, at: Ints) -> tuple[Ints, Ints]:
    """Return the range of the changes of two readings before and after each one, and 0."""
    change = np.concatenate(([0, 0], np.diff(axis.count, prepend=axis.count[:1]), [0, 0]))
    beside = np.stack([change[at + k] for k in (0, 1, 3, 4)])
    return np.minimum(beside.min(axis=0), 0), np.maximum(beside.max(axis=0), 0)
