"""The end of the work, as the board told it: the asked holds are all done.

Common practice, no source: a hub stays where it was pushed last, until somebody moves it. So the
wheel often stands on while somebody walks to the computer; its one count, shown for longer than
anything else, would pass for a frozen gauge or a plunger at its stop. The readings alone cannot
tell the two apart. The board notes each hold that it tells (`hold_told`).
"""

from dataclasses import replace

import numpy as np

from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.trace import Trace

HOLD_TOLD = "hold_told"
HELD_ON_US = 1_500_000  # of the last hold, after what made it one


def without_wait(trace: Trace, limits: EndPlayLimits) -> Trace:
    """Return the readings up to the end of the work; all of them where nothing tells it."""
    told_us = [mark.t_us for mark in trace.marks if mark.code == HOLD_TOLD]
    if len(told_us) < 2 * limits.cycles_asked:
        return trace
    end = int(np.searchsorted(trace.t_us, max(told_us) + HELD_ON_US, side="right"))
    if end < 2 or trace.t_us[end - 1] - trace.t_us[0] < len(told_us) * limits.hold_s * 1e6:
        return trace  # nobody holds so often in so short a time
    return replace(
        trace,
        t_us=trace.t_us[:end],
        count=trace.count[:end],
        spans=tuple(span for span in trace.spans if span.first < end),
    )
