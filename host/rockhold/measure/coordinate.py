"""One continuous coordinate in counts, whatever unit the gauge showed at the time."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.trace import Trace

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Coordinate:
    """The readings on one axis.

    Attributes:
        t_s: Time of each reading, in seconds.
        count: Indication of each reading, in counts of step_mm.
        step_mm: The count, in mm: the finest one that the gauge used.
        digit: The coarsest count that the gauge used, in counts of step_mm (1 without a change).
        spacing_s: Median spacing of the readings, in seconds.
    """

    t_s: Floats
    count: Ints
    step_mm: float
    digit: float
    spacing_s: float


def coordinate(trace: Trace) -> Coordinate:
    """Return a trace's readings on one axis; needs at least one reading."""
    steps = [span.step_mm for span in trace.spans]
    step_mm = min(steps)
    count = trace.count
    if len(steps) > 1:
        count = np.rint(trace.travel_mm / step_mm).astype(np.int64)
    t_s = trace.t_s
    spacing_s = float(np.median(np.diff(t_s))) if len(t_s) > 1 else 0.0
    return Coordinate(t_s, count, step_mm, max(steps) / step_mm, max(spacing_s, 1e-6))
