"""Visits to a side that ended without a hold: the wheel was rocked to the last moment.

Rocking is slow to and fro, tremor is quick. In each visit the last second before the hub leaves
the side is held against the rest: if it moves as much as the rest, and as slowly, nobody held.
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
# Median share less 1.2 times median quickness. Simulated jobs with holds stay below in 99 of 100;
# with a coarse gauge a calm end shows no motion at all, so a lower value says as much.
RESTLESS, RESTLESS_COARSE = 0.0, -0.2
ROCKING_QUICKNESS = 0.55  # above it the rest shows no rocking to compare with
SHORT_SHARE = 0.4
SEEN = 0.8  # of the hold time: the rest is lag, running out, and the first move


@dataclass(frozen=True, slots=True)
class Tail:
    """How the end of a visit moves.

    Attributes:
        at_s: When it begins, in seconds.
        share: Its spread relative to that of the rest.
        quickness: 0 for slow motion, 1 for quick tremor or none.
        body_quickness: The same for the rest.
    """

    at_s: float
    share: float
    quickness: float
    body_quickness: float


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


def _quickness(values: Floats, variance: float) -> float:
    """Return the mean square of successive differences over twice the variance.

    Near 1 for independent values, near 0 for a slow motion (von Neumann's ratio, halved).
    """
    if variance <= 1e-9:
        return 1.0
    change = values[1:] - values[:-1]
    return float(change @ change) / len(change) / (2 * variance)


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
    if len(body) < 4 or len(tail) < 3:
        return None
    whole, variance = _variance(body), _variance(tail)
    if whole <= 0.05:
        return None
    share = sqrt(variance / whole)
    quick, body_quick = _quickness(tail, variance), _quickness(body, whole)
    return Tail(float(axis.t_s[cut]), share, quick, body_quick)


def unheld(axis: Coordinate, holds: tuple[Hold, ...], limits: EndPlayLimits) -> list[Finding]:
    """Return "no hold" if most visits end as they went on; "short hold" if a calm comes late."""
    visits = visits_by_level(axis, holds)
    tails = _tails(axis, visits, SEEN * limits.hold_s)
    if len(tails) < FEWEST_TAILS:
        return []
    if median(tail.body_quickness for tail in tails) > ROCKING_QUICKNESS:
        return []
    if _restlessness(tails) <= (RESTLESS_COARSE if is_coarse(axis) else RESTLESS):
        return []
    last = _tails(axis, visits, SHORT_SHARE * limits.hold_s)
    calm = bool(last) and median(tail.share for tail in last) < 0.5
    found = [finding("no_hold", tails[0].at_s)]
    return [*found, finding("short_hold", tails[0].at_s)] if calm else found


def _tails(axis: Coordinate, visits: list[tuple[int, int]], length_s: float) -> list[Tail]:
    found = [tail_of(axis, first, end, length_s) for first, end in visits]
    return [tail for tail in found if tail is not None]


def _restlessness(tails: list[Tail]) -> float:
    share = median(tail.share for tail in tails)
    return share - 1.2 * median(tail.quickness for tail in tails)


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
