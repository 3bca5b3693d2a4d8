"""The plunger's free stop, where a person noted it: how far it was pushed in, and whether it hung.

At its free stop the plunger cannot follow the hub (common practice, no source). The stop is a fixed
place of the gauge, so one look at the indication while the plunger hangs free tells for the whole
work how much preload there was, which the readings of the work alone can hardly tell with a coarse
gauge (rockhold.measure.stop).
"""

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import Choice
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import finding
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.quiet import middle_of_three
from rockhold.measure.result import Finding
from rockhold.measure.trace import Trace

Ints = NDArray[np.int64]

NOTED_US = 1_000_000  # so long before the note the plunger hung
FEWEST = 4  # readings of that time
STILL_COUNTS = 1  # a plunger that hangs shows one count, or two in turn
SILENT_S = 2.0  # a gauge that was off begins at another zero
PRESSED_MM = 0.1  # a smaller jump to zero, both sides of it still, may be a move
BESIDE = 3  # readings that stand still before and after a pressed zero
AT_STOP_DIGITS = 1.5
HUNG_S = 0.3  # a shorter touch of the stop spoils no hold


def stop_shown(trace: Trace, noted_us: int) -> float | None:
    """Return what the gauge shows, at the end of a trace, when its plunger hangs free.

    Args:
        trace: The readings from a second before the note up to the work.
        noted_us: When a person said that the plunger hung free, in µs of the board's clock.

    Returns:
        The indication in mm, pressed zeros counted in. None where it cannot be said: the
        indication was not still, the gauge was silent since or showed another unit, or readings
        lie on both sides, so that it was no stop.
    """
    split = int(np.searchsorted(trace.t_us, noted_us, side="right"))
    hung = trace.count[:split]
    if len(hung) < FEWEST or np.ptp(hung) > STILL_COUNTS or len(trace.spans) > 1:
        return None
    if len(trace) > 1 and np.diff(trace.t_s).max() > SILENT_S:
        return None
    step_mm = trace.spans[0].step_mm
    count, zeros = _without_zeros(trace.count, step_mm)
    level = round(float(np.median(hung)))
    return (level + zeros) * step_mm if _is_outermost(count - level, STILL_COUNTS) else None


def _without_zeros(count: Ints, step_mm: float) -> tuple[Ints, int]:
    """Return the readings without pressed zeros, and what these added to the last of them."""
    moved = np.diff(count, prepend=count[:1])
    jumps = np.flatnonzero((count == 0) & (np.abs(moved) * step_mm >= PRESSED_MM))
    size = np.zeros_like(count)
    for at in jumps.tolist():
        before, after = count[max(0, at - BESIDE) : at], count[at : at + BESIDE]
        if np.ptp(before) <= STILL_COUNTS and np.ptp(after) <= STILL_COUNTS:
            size[at] = moved[at]
    return count - np.cumsum(size), int(size.sum())


def _is_outermost(distance: Ints, slack: float) -> bool:
    """Return whether all readings lie on one side of a place; single wild ones do not count."""
    usual = middle_of_three(distance)
    return bool(usual.min() >= -slack or usual.max() <= slack)


def preload(
    axis: Coordinate, choice: Choice, stop_mm: float, limits: EndPlayLimits
) -> list[Finding] | None:
    """Return what the noted free stop says of the holds: lost contact, too little preload, or [].

    Args:
        axis: The readings of the work, pressed zeros taken out.
        choice: The holds that count.
        stop_mm: The free stop, as the gauge would show it at the first of them, in mm.
        limits: What the procedure asks for.

    Returns:
        Findings, or None where the readings lie on both sides of it, so that it was no stop.
    """
    # What was before the first hold after rocking may still be the setting up.
    worked = [hold for hold in choice.holds if hold.rocked] or list(choice.holds)
    first, end = worked[0].first, choice.holds[-1].end
    # A zero pressed before the first hold shows in no levels, so it is still in.
    _, zeros = _without_zeros(axis.count[:first], axis.step_mm)
    distance = axis.count[first:end] - round(stop_mm / axis.step_mm) - zeros
    slack = AT_STOP_DIGITS * axis.digit
    if not _is_outermost(distance, slack):
        return None
    away = np.abs(middle_of_three(distance))
    at_stop = np.flatnonzero(away <= slack)
    if len(at_stop) * axis.spacing_s >= HUNG_S:
        return [finding("contact_lost", float(axis.t_s[first + int(at_stop[0])]))]
    least_mm = float(away.min()) * axis.step_mm
    if least_mm >= limits.preload_mm:
        return []
    at_s = float(axis.t_s[first + int(np.argmin(away))])
    return [finding("low_preload", at_s, f"It was {least_mm:.3f} mm.")]
