"""Visits to a side that ended without a hold: the wheel was rocked to the last moment.

Rocking is slow to and fro, tremor and rounding are quick. What a stretch moves slowly is its
variance less that of quick motion alone (half the mean square of successive differences, von
Neumann). In each visit the last second before the hub leaves the side is held against stretches
of the same length in the rest: if the slow motion goes on, nobody held. If the rest shows no slow
motion, rocking does not show at all; then it does no harm, and nothing is said.
"""

from dataclasses import dataclass
from math import sqrt
from statistics import median

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import finding
from rockhold.measure.holds import Hold, is_coarse
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.quiet import middle_of_three
from rockhold.measure.result import Finding

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SHORTEST_VISIT_S = 2.0
BEYOND_MM = 0.05
LEAVING_S = 0.3  # the last moment of a visit belongs to the way to the other side
ARRIVING_S = 0.8
BIN_S = 0.12
FEWEST_TAILS = 4
# Slow motion of the ends of the visits relative to that of the rest: about 0.02 with holds and
# 0.5 to 1 without (a second shows only part of a rock); above this in 1 of 100 jobs with holds.
GOES_ON, GOES_ON_COARSE = 0.35, 0.35
# Share of slow motion in the rest. With less, chance makes a tail look like the rest. Rounding
# hides more of the rocking, but it leaves the holds quite still, so a coarse gauge needs less.
ROCKING, ROCKING_COARSE = 0.5, 0.25
SHORT_SHARE = 0.4
SEEN = 0.8  # of the hold time: the rest is lag, running out, and the first move


@dataclass(frozen=True, slots=True)
class Tail:
    """How the end of a visit moves.

    Attributes:
        at_s: When it begins, in seconds.
        share: Its spread relative to that of the rest.
        slow: Its slow motion, as a variance in counts squared; may be below zero by chance.
        body_slow: The same for stretches of its length in the rest, on average.
        body_variance: Variance of these stretches, on average.
    """

    at_s: float
    share: float
    slow: float
    body_slow: float
    body_variance: float


def visits_by_level(axis: Coordinate, holds: tuple[Hold, ...]) -> list[tuple[int, int]]:
    """Return (first, end) of the stretches on either side, told by the level alone.

    The sides are those of most readings between the first hold and the last; what lies far
    beyond them (setting the gauge up) belongs to no side.
    """
    if not holds:
        return []
    count = middle_of_three(axis.count)
    work = count[holds[0].first : holds[-1].end]
    places = [len(work) * 8 // 100, len(work) * 92 // 100]
    low, high = np.partition(work, places)[places].tolist()
    edge = 0.2 * (high - low)
    middle = 0.5 * (high + low)
    side = np.where(count > middle + edge, 1, np.where(count < middle - edge, -1, 0))
    beyond = 2 * (high - low) + BEYOND_MM / axis.step_mm
    side[(count < low - beyond) | (count > high + beyond)] = 2
    at = np.flatnonzero(side)
    if not len(at):
        return []
    cuts = np.flatnonzero(np.diff(side[at])) + 1
    groups = np.split(at, cuts)
    return [
        (int(group[0]), int(group[-1]) + 1)
        for group in groups
        if side[group[0]] != 2 and axis.t_s[group[-1]] - axis.t_s[group[0]] >= SHORTEST_VISIT_S
    ]


def _variance(values: Floats) -> float:
    away = values - values.sum() / len(values)
    return float(away @ away) / len(values)


def _slow_motion(values: Floats, length: int) -> tuple[float, float]:
    """Return slow motion and variance of all stretches of a length, on average.

    The variance is the unbiased one; half the mean square of successive differences has the same
    expectation for independent values, so what is left is zero for quick motion alone.
    """
    away = values - values.sum() / len(values)
    sums = np.concatenate(([0.0], away.cumsum()))
    squares = np.concatenate(([0.0], (away * away).cumsum()))
    change = away[1:] - away[:-1]
    changes = np.concatenate(([0.0], (change * change).cumsum()))
    total = sums[length:] - sums[:-length]
    variance = (squares[length:] - squares[:-length] - total * total / length) / (length - 1)
    quick = (changes[length - 1 :] - changes[: len(changes) - length + 1]) / (length - 1) / 2
    mean = float(variance.sum()) / len(variance)
    return mean - float(quick.sum()) / len(quick), mean


def _binned(axis: Coordinate, first: int, end: int) -> Floats:
    """Return means over short bins of time, which take most of the tremor out."""
    bins = ((axis.t_s[first:end] - axis.t_s[first]) / BIN_S).astype(np.int64)
    many = np.bincount(bins)
    sums = np.bincount(bins, weights=axis.count[first:end] - axis.count[first])
    filled = many > 0
    return np.asarray(sums[filled] / many[filled], dtype=np.float64)


def tail_of(axis: Coordinate, first: int, end: int, hold_s: float) -> Tail | None:
    """Return how a visit ends, or None if it is too short or shows no motion at all."""
    start_s = axis.t_s[first] + ARRIVING_S
    end_s = axis.t_s[end - 1] - LEAVING_S
    begin, cut, stop = np.searchsorted(axis.t_s, [start_s, end_s - hold_s, end_s]).tolist()
    if cut - begin < 8 or stop - cut < 3:
        return None
    body, tail = _binned(axis, begin, cut), _binned(axis, cut, stop)
    if len(tail) < 3 or len(body) < max(4, len(tail)):
        return None
    whole = _variance(body)
    if whole <= 0.05:
        return None
    share = sqrt(_variance(tail) / whole)
    slow, _ = _slow_motion(tail, len(tail))
    body_slow, body_variance = _slow_motion(body, len(tail))
    return Tail(float(axis.t_s[cut]), share, slow, body_slow, body_variance)


def unheld(axis: Coordinate, holds: tuple[Hold, ...], limits: EndPlayLimits) -> list[Finding]:
    """Return "no hold" if most visits end as they went on; "short hold" if a calm comes late."""
    visits = visits_by_level(axis, holds)
    tails = _tails(axis, visits, SEEN * limits.hold_s)
    if len(tails) < FEWEST_TAILS:
        return []
    if not _rocked_to_the_end(tails, is_coarse(axis)):
        return []
    last = _tails(axis, visits, SHORT_SHARE * limits.hold_s)
    calm = bool(last) and median(tail.share for tail in last) < 0.5
    found = [finding("no_hold", tails[0].at_s)]
    return [*found, finding("short_hold", tails[0].at_s)] if calm else found


def _tails(axis: Coordinate, visits: list[tuple[int, int]], length_s: float) -> list[Tail]:
    found = [tail_of(axis, first, end, length_s) for first, end in visits]
    return [tail for tail in found if tail is not None]


def _rocked_to_the_end(tails: list[Tail], coarse: bool) -> bool:
    """Return whether slow motion shows, and goes on in at least half of the visits' ends."""
    body = median(tail.body_slow for tail in tails)
    if body <= (ROCKING_COARSE if coarse else ROCKING) * median(t.body_variance for t in tails):
        return False
    return median(tail.slow for tail in tails) >= (GOES_ON_COARSE if coarse else GOES_ON) * body


def visits_without(
    axis: Coordinate, holds: tuple[Hold, ...], limits: EndPlayLimits
) -> list[Finding]:
    """Return a finding for each visit in which no hold was found."""
    found = []
    for first, end in visits_by_level(axis, holds):
        if any(hold.first < end and first < hold.end for hold in holds):
            continue
        tail = tail_of(axis, first, end, SHORT_SHARE * limits.hold_s)
        code = "short_hold" if tail is not None and tail.share < 0.3 else "no_hold"
        found.append(finding(code, float(axis.t_s[end - 1])))
    return found
