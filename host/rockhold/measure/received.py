"""What the readings show as they came: silence, another unit, a count too large, a tool overdue."""

import numpy as np

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import finding
from rockhold.measure.limits import EndPlayLimits, GaugeFacts
from rockhold.measure.result import Finding
from rockhold.measure.trace import Trace

COARSE_SHARE = 0.2  # of the band's width: with a larger count the guard band takes most of it


def as_received(
    trace: Trace, axis: Coordinate, limits: EndPlayLimits, gauge: GaugeFacts
) -> list[Finding]:
    """Return what the readings show before anybody looks for holds.

    Args:
        trace: Indications of the gauge.
        axis: The same on one axis.
        limits: What the procedure asks for.
        gauge: What is known of the gauge.
    """
    found = []
    for first in [span.first for span in trace.spans[1:]]:
        found.append(finding("unit_changed", float(axis.t_s[min(first, len(trace) - 1)])))
    silent = np.flatnonzero(np.diff(axis.t_s) > max(limits.gap_s, 3.5 * axis.spacing_s))
    for index in silent.tolist():
        missing_s = float(axis.t_s[index + 1] - axis.t_s[index])
        found.append(finding("data_gap", float(axis.t_s[index]), f"Silent for {missing_s:.2f} s."))
    if axis.digit * axis.step_mm > COARSE_SHARE * (limits.band_high_mm - limits.band_low_mm):
        found.append(finding("coarse_gauge", float(axis.t_s[0])))
    if gauge.overdue:
        found.append(
            finding("tool_overdue", float(axis.t_s[0]), gauge.name and f"It is {gauge.name}.")
        )
    return found
