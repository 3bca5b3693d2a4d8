"""The wait after the work: the wheel stands where it was held last until the recording is ended.

Its one count, shown for longer than anything else, would pass for a frozen gauge or a plunger at
its stop, and outweigh the hold before it.
"""

from dataclasses import replace
from itertools import pairwise
from statistics import median

import numpy as np

from rockhold.measure.choice import choose
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import find_holds, is_coarse
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.unstepped import holds_and_steps

STOOD_S = 4.0  # a wheel that stood for less at the end was held, not left
STILL_DIGITS = 1  # nobody touches it: one count, or two in turn
FEWEST = 3  # holds before, that say what is usual


def without_wait(axis: Coordinate, limits: EndPlayLimits) -> Coordinate:
    """Return the readings up to the end of the work, as they came if there was no wait.

    The last stillness is cut to the usual hold before it; only where the asked cycles are
    complete by then, since else it may hide that something was wrong.
    """
    tail = axis.count[np.searchsorted(axis.t_s, axis.t_s[-1] - STOOD_S) :]
    if np.ptp(tail) > STILL_DIGITS * axis.digit:
        return axis
    holds, _ = find_holds(axis, limits)
    before = [hold.end_s - hold.start_s for hold in holds[1:-1]]  # the first may be a wait, too
    if len(before) < FEWEST:
        return axis
    until_s = holds[-1].start_s + median(before)
    if is_coarse(axis):  # its last stillness may begin with rocking that it does not show
        ends_s = [hold.end_s for hold in choose(axis, holds).holds if hold is not holds[-1]]
        periods_s = [later_s - end_s for end_s, later_s in pairwise(ends_s)]
        if periods_s:
            until_s = max(until_s, ends_s[-1] + median(periods_s))
    end = int(np.searchsorted(axis.t_s, until_s, side="right"))
    if end >= len(axis.count):
        return axis
    work = replace(axis, t_s=axis.t_s[:end], count=axis.count[:end])
    stepless, holds, _ = holds_and_steps(work, limits)
    return work if choose(stepless, holds).cycles >= limits.cycles_asked else axis
