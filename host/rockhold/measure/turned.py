"""Quiet stretches that are no holds, because the motion sensor on the hub saw the wheel turn.

Where the face runs true, or a count of the gauge is large, rocking hardly moves the indication, and
a wheel that is rocked to the last moment looks held. The sensor knows. One that never turned with
the wheel (the base stands on the spindle) knows nothing, and is not asked.
"""

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import Choice, choose
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import finding
from rockhold.measure.holds import Hold, part_of, shortest_s
from rockhold.measure.hub.turning import Spans, Turning
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.result import Finding
from rockhold.measure.unheld import SHORT_SHARE, visits_by_level

ROCKED_DEG_S = 20.0  # the wheel was rocked; a hand that holds it does not move it so fast
BEFORE_S = 5.0  # before the first hold the wheel was rocked, if at all
WITHIN = 0.5  # of the time that makes a hold, the least that must lie within the quiet readings
_SAW = "The motion sensor saw the wheel turn."


def without_turned(
    axis: Coordinate, holds: list[Hold], turning: Turning | None, limits: EndPlayLimits
) -> tuple[list[Hold], list[Finding] | None]:
    """Drop quiet stretches during which the wheel turned.

    Returns:
        The other ones, and a finding for each visit of which none is left; None instead of
        findings where no sensor turned with the wheel.
    """
    if turning is None:
        return holds, None
    seemed = choose(axis, holds)
    if not _saw_rocking(turning, seemed):
        return holds, None
    spans = turning.still_spans()
    least_s = shortest_s(axis, limits)
    stood = [hold for hold in holds if _stood(turning, spans, hold, least_s)]
    found = _never_still(axis, seemed, stood, spans, limits)
    if found:  # what is left must not be the wheel that nobody held, before the work and after it
        visits = visits_by_level(axis, seemed.holds)
        stood = [hold for hold in stood if any(_meet(hold, visit) for visit in visits)]
    return stood, found


def while_still(axis: Coordinate, holds: tuple[Hold, ...], turning: Turning) -> tuple[Hold, ...]:
    """Return of each hold the part in which the wheel stood still.

    To be shown: what is wrong with plunger or gauge shows better in the readings with the rocking.
    """
    spans = turning.still_spans()
    return tuple(_while_still(axis, turning, spans, hold) for hold in holds)


def _meet(hold: Hold, visit: tuple[int, int]) -> bool:
    first, end = visit
    return hold.first < end and first < hold.end


def _saw_rocking(turning: Turning, seemed: Choice) -> bool:
    if not seemed.holds:
        return False
    return rocked_in(turning, seemed.holds[0].start_s - BEFORE_S, seemed.holds[-1].end_s)


def rocked_in(turning: Turning, from_s: float, to_s: float) -> bool:
    """Return whether a sensor that turns with the wheel saw it rocked between two times."""
    return turning.fastest_deg_s(from_s, to_s) >= ROCKED_DEG_S


def _stood(turning: Turning, spans: Spans, hold: Hold, least_s: float) -> bool:
    """Return whether the wheel stood still for long enough, with the hold in that time.

    The readings may leave the band of quiet before the wheel is moved, so the stillness may go
    on beyond the hold. Where the sensor was not heard, nobody can say that it did not stand.
    """
    if not turning.heard(hold.start_s, hold.end_s):
        return True
    lengths = spans[:, 1] - spans[:, 0]
    within = _within(spans, hold.start_s, hold.end_s)
    return bool(np.any((within >= WITHIN * least_s) & (lengths >= least_s)))


def _while_still(axis: Coordinate, turning: Turning, spans: Spans, hold: Hold) -> Hold:
    if not turning.heard(hold.start_s, hold.end_s):
        return hold
    longest = int(np.argmax(_within(spans, hold.start_s, hold.end_s)))
    from_s, to_s = spans[longest]
    first = max(hold.first, int(np.searchsorted(axis.t_s, from_s)))
    end = min(hold.end, int(np.searchsorted(axis.t_s, to_s, side="right")))
    if end - first < 2 or (first, end) == (hold.first, hold.end):
        return hold
    return part_of(axis, hold, first, end)


def _within(spans: Spans, from_s: float, to_s: float) -> NDArray[np.float64]:
    """Return how much of each span lies between two times, in seconds; below zero for none."""
    return np.minimum(spans[:, 1], to_s) - np.maximum(spans[:, 0], from_s)


def _never_still(
    axis: Coordinate, seemed: Choice, stood: list[Hold], spans: Spans, limits: EndPlayLimits
) -> list[Finding]:
    visits = visits_by_level(axis, seemed.holds)
    nexts = [first for first, _ in [*visits, (len(axis.t_s), 0)][1:]]
    found = []
    for (first, end), until in zip(visits, nexts, strict=True):
        if any(_meet(hold, (first, end)) for hold in stood):
            continue
        if end <= seemed.holds[0].first or first >= seemed.holds[-1].end:
            continue  # the wheel was turned before the work, or after it
        start_s, until_s = float(axis.t_s[first]), float(axis.t_s[until - 1])
        still_s = float(_within(spans, start_s, until_s).max(initial=0.0))
        if still_s < shortest_s(axis, limits):
            code = "short_hold" if still_s >= SHORT_SHARE * limits.hold_s else "no_hold"
            found.append(finding(code, float(axis.t_s[end - 1]), _SAW))
    return found
