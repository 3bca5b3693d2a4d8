"""Visits to a side that ended without a hold: the wheel was rocked to the last moment.

Rocking is slow to and fro, tremor and rounding are quick: over a quarter of a second the rocked
face moves further than from one moment to the next, a held one does not. In each visit the last
second before the hub leaves the side is held against the rest. If these ends move slowly, and
about as far as the rest does, nobody held. If they show no slow motion, either somebody held or
rocking does not show at all; then it does no harm, and nothing is said.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from statistics import fmean, median

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import Choice
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import Reserve, finding
from rockhold.measure.holds import Hold, is_coarse
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.quiet import middle_of_three
from rockhold.measure.result import Finding

Floats = NDArray[np.float64]

SHORTEST_VISIT_S = 2.0
BEYOND_MM = 0.05
LEAVING_S = 0.3  # the last moment of a visit belongs to the way to the other side
ARRIVING_S = 0.8
BIN_S, BIN_READINGS = 0.08, 1.2  # the longer of the two: means over it take tremor out
LAG_BINS = 3  # a quarter to a third of a second: a good part of a rock, several tremors
FEWEST_TAILS = 4
# Chosen so that less than one in a hundred jobs with holds pass, in two simulators, any gauge.
SLOWLY = 1.5  # mean square motion over LAG_BINS bins, by that over one, of the visits' ends
GOES_ON = 0.64  # the same over LAG_BINS bins, by that of the rest
NO_MOTION = 0.02  # digits squared: less is chance
SHORT_SHARE = 0.4
# From hold to hold, the change of sides included. In simulated jobs with less the interval held
# half of the end plays, with more nearly all of them.
LEAST_ROCKED_S = 1.6
LONGEST_TURN_S = 3.8
SEEN = 0.8  # of the hold time: the rest is lag, running out, and the first move
HARDLY_ROCKED = Reserve(
    " The wheel was rocked for hardly more than a second before its holds: rollers that are not"
    " seated yet leave the number too small."
)


@dataclass(frozen=True, slots=True)
class Tail:
    """How the end of a visit moves; mean squares, in digits squared.

    Attributes:
        at_s: When it begins, in seconds.
        share: Its spread relative to that of the rest.
        quick: Its motion from one bin to the next.
        slow: Its motion over LAG_BINS bins.
        body_slow: The same for the rest.
    """

    at_s: float
    share: float
    quick: float
    slow: float
    body_slow: float


def hardly_rocked(axis: Coordinate, choice: Choice) -> bool:
    """Return whether the time from hold to hold leaves hardly any for rocking.

    A coarse gauge does not show where rocking ends, so nothing can be said there.
    """
    if is_coarse(axis) or choice.cycles < 2:
        return False
    sides = choice.upper.tolist()
    last = [i for i, side in enumerate(sides) if i + 1 == len(sides) or sides[i + 1] is not side]
    turns = list(pairwise(choice.holds[i] for i in last))
    if median(b.end_s - a.end_s for a, b in turns) > LONGEST_TURN_S:
        return False  # what is taken for the hold has rocking in it, under a true face
    return median(b.start_s - a.end_s for a, b in turns) < LEAST_ROCKED_S


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


def _motion(values: Floats, lag: int) -> float:
    """Return the mean square of the change over `lag` bins; 0 if there are no more than that."""
    if len(values) <= lag:
        return 0.0
    change = values[lag:] - values[:-lag]
    return float(change @ change) / len(change)


def _binned(axis: Coordinate, first: int, end: int) -> Floats:
    """Return means over short bins of time, which take most of the tremor out, in digits."""
    bin_s = max(BIN_S, BIN_READINGS * axis.spacing_s)
    bins = ((axis.t_s[first:end] - axis.t_s[first]) / bin_s).astype(np.int64)
    many = np.bincount(bins)
    sums = np.bincount(bins, weights=axis.count[first:end] - axis.count[first])
    filled = many > 0
    return np.asarray(sums[filled] / many[filled] / axis.digit, dtype=np.float64)


def tail_of(axis: Coordinate, first: int, end: int, hold_s: float) -> Tail | None:
    """Return how a visit ends, or None if it is too short to tell."""
    start_s = axis.t_s[first] + ARRIVING_S
    end_s = axis.t_s[end - 1] - LEAVING_S
    begin, cut, stop = np.searchsorted(axis.t_s, [start_s, end_s - hold_s, end_s]).tolist()
    if cut - begin < 6 or stop - cut < 3:
        return None
    body, tail = _binned(axis, begin, cut), _binned(axis, cut, stop)
    if len(tail) < 3:
        return None
    share = sqrt((_variance(tail) + 1e-9) / (_variance(body) + 1e-9))
    return Tail(
        float(axis.t_s[cut]),
        share,
        _motion(tail, 1),
        _motion(tail, LAG_BINS),
        _motion(body, LAG_BINS),
    )


def unheld(axis: Coordinate, holds: tuple[Hold, ...], limits: EndPlayLimits) -> list[Finding]:
    """Return "no hold" if most visits end as they went on; "short hold" if a calm comes late."""
    visits = visits_by_level(axis, holds)
    tails = _tails(axis, visits, SEEN * limits.hold_s)
    if len(tails) < FEWEST_TAILS:
        return []
    if not _rocked_to_the_end(tails):
        return []
    last = _tails(axis, visits, SHORT_SHARE * limits.hold_s)
    calm = bool(last) and median(tail.share for tail in last) < 0.5
    found = [finding("no_hold", tails[0].at_s)]
    return [*found, finding("short_hold", tails[0].at_s)] if calm else found


def _tails(axis: Coordinate, visits: list[tuple[int, int]], length_s: float) -> list[Tail]:
    found = [tail_of(axis, first, end, length_s) for first, end in visits]
    return [tail for tail in found if tail is not None]


def _rocked_to_the_end(tails: list[Tail]) -> bool:
    """Return whether the visits' ends move slowly, and about as far as the rest does."""
    quick = _usual([tail.quick for tail in tails]) + NO_MOTION
    slow = _usual([tail.slow for tail in tails]) + NO_MOTION
    if slow < SLOWLY * quick:
        return False
    rest = median(tail.body_slow for tail in tails) + NO_MOTION
    return median(tail.slow for tail in tails) + NO_MOTION >= GOES_ON * rest


def _usual(values: list[float]) -> float:
    """Return the mean of the middle half: one odd visit must not decide."""
    cut = len(values) // 4
    return fmean(sorted(values)[cut : len(values) - cut])


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
