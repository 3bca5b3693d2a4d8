"""The indicator while nobody works at the wheel: at rest, or while its base is set up."""

import numpy as np

from rockhold.measure.trace import Trace, UnitSpan
from rockhold.simulator.scenario import Gauge

PRELOAD_MM = 0.8  # how far the plunger is pushed in from its free stop


def brought(gauge: Gauge, start: int, end: int, length_s: float) -> Trace:
    """Return what a gauge shows that is brought from one count to another, and then rests.

    Args:
        gauge: The gauge.
        start: The count before.
        end: The count that is reached after half of the time.
        length_s: How long all of it takes, in seconds.
    """
    t_s = np.arange(1, max(2, int(length_s * gauge.rate_hz))) / gauge.rate_hz
    way = np.interp(t_s, (0.0, 0.5 * length_s), (start, end))
    return Trace(
        np.rint(t_s * 1e6).astype(np.int64),
        np.rint(way).astype(np.int64),
        (UnitSpan(0, gauge.unit, gauge.step_mm),),
    )


def at_its_place(trace: Trace, shown: int, stop: int) -> Trace:
    """Return a job's readings from where the indicator sits; it cannot go beyond its free stop.

    Args:
        trace: Readings of a job, from any count.
        shown: The count where the indicator rests before it.
        stop: The count that it shows at its free stop.
    """
    count = np.maximum(trace.count - trace.count[0] + shown, stop)
    return Trace(trace.t_us, count.astype(np.int64), trace.spans)


def later(trace: Trace, by_us: int) -> Trace:
    """Return the same readings so many microseconds later."""
    return Trace((trace.t_us + by_us).astype(np.int64), trace.count, trace.spans)
