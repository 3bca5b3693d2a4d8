"""Visits to a side that ended without a hold: the wheel was rocked to the last moment.

In each visit the last second before the hub leaves the side is looked at. If these ends keep the
rhythm of the rocking, nobody held. If they do not, either somebody held or rocking does not show at
all; then it does no harm, and nothing is said.
"""

from itertools import pairwise
from math import sqrt
from statistics import median

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import Choice
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import Reserve, finding
from rockhold.measure.holds import Hold, is_coarse
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.quiet import middle_of_three
from rockhold.measure.result import Finding
from rockhold.measure.rhythm import binned, rhythm_kept
from rockhold.measure.sides import last_of_visits

Floats = NDArray[np.float64]

SHORTEST_VISIT_S = 2.0
SHORTEST_ROCKED_S = 1.3  # a visit without a hold is shorter
BEYOND_MM = 0.05
LEAVING_S = 0.3  # the last moment of a visit belongs to the way to the other side
ARRIVING_S = 0.8
# What ends without rocking may show by chance: a last digit that flickers, in digits squared, and
# a hand that is not quite still. Hardly one in two hundred jobs with holds shows more.
FLICKER = 0.08
UNSTILL_MM = 0.0004
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


def hardly_rocked(axis: Coordinate, choice: Choice) -> bool:
    """Return whether the time from hold to hold leaves hardly any for rocking.

    A coarse gauge does not show where rocking ends, so nothing can be said there.
    """
    if is_coarse(axis) or choice.cycles < 2:
        return False
    turns = list(pairwise(choice.holds[i] for i in last_of_visits(choice.upper)))
    if median(b.end_s - a.end_s for a, b in turns) > LONGEST_TURN_S:
        return False  # what is taken for the hold has rocking in it, under a true face
    return median(b.start_s - a.end_s for a, b in turns) < LEAST_ROCKED_S


def visits_by_level(axis: Coordinate, holds: tuple[Hold, ...]) -> list[tuple[int, int]]:
    """Return (first, end) of the stretches on either side, told by the level alone.

    The sides are those of most readings between the first hold and the last.
    """
    if not holds:
        return []
    stays = _stays(axis, holds[0].first, holds[-1].end, SHORTEST_VISIT_S)
    return [(first, end) for first, end, _ in stays]


def _stays(
    axis: Coordinate, from_index: int, to_index: int, shortest_s: float
) -> list[tuple[int, int, int]]:
    """Return (first, end, next) of the stretches on either side; `next` begins the one after it.

    The sides are those of most readings of a part; what lies far beyond them (setting the gauge
    up) belongs to no side, nor does what lies half way between them.
    """
    count = middle_of_three(axis.count)
    work = count[from_index:to_index]
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
    cuts = np.flatnonzero(np.diff(side[at]))
    firsts = at[np.concatenate(([0], cuts + 1))].tolist()
    lasts = at[np.concatenate((cuts, [len(at) - 1]))].tolist()
    nexts = [*firsts[1:], lasts[-1] + 1]
    return [
        (first, last + 1, after)
        for first, last, after in zip(firsts, lasts, nexts, strict=True)
        if side[first] != 2 and axis.t_s[last] - axis.t_s[first] >= shortest_s
    ]


def _whole_visits(axis: Coordinate, choice: Choice, limits: EndPlayLimits) -> list[tuple[int, int]]:
    """Return (first, end) of the visits, with a hold that lies half way to the other side.

    With a play of a count or so it does, if the face is highest or lowest there: where there is
    room for a hold after the last reading on a side, the visit lasts until the next one begins.
    Holds of one side alone do not say where the sides are.
    """
    holds = choice.holds
    part = (holds[0].first, holds[-1].end) if choice.two_sided else (0, len(axis.count))
    room_s = limits.hold_s + LEAVING_S
    visits = []
    for first, end, after in _stays(axis, *part, SHORTEST_ROCKED_S):
        halfway_s = axis.t_s[min(after, len(axis.t_s) - 1)] - axis.t_s[end - 1]
        visits.append((first, after if halfway_s > room_s else end))
    return visits


def _spread(values: Floats) -> float:
    away = values - values.sum() / len(values)
    return sqrt(float(away @ away) / len(values))


def calmed(axis: Coordinate, first: int, end: int, last_s: float) -> float | None:
    """Return the spread of the last moment of a visit by that of the rest; None if too short."""
    start_s = axis.t_s[first] + ARRIVING_S
    end_s = axis.t_s[end - 1] - LEAVING_S
    begin, cut, stop = np.searchsorted(axis.t_s, [start_s, end_s - last_s, end_s]).tolist()
    if cut - begin < 6 or stop - cut < 3:
        return None
    body, tail = binned(axis, begin, cut), binned(axis, cut, stop)
    return (_spread(tail) + 1e-6) / (_spread(body) + 1e-6) if len(tail) >= 3 else None


def unheld(axis: Coordinate, choice: Choice, limits: EndPlayLimits) -> list[Finding]:
    """Return "no hold" if the visits' ends keep rocking; "short hold" if a calm comes late."""
    visits = _whole_visits(axis, choice, limits)
    kept = rhythm_kept(axis, visits, SEEN * limits.hold_s, LEAVING_S)
    if kept is None or kept < FLICKER + (UNSTILL_MM / (axis.digit * axis.step_mm)) ** 2:
        return []
    begins_s = axis.t_s[visits[0][1] - 1] - LEAVING_S - SEEN * limits.hold_s
    at_s = float(axis.t_s[np.searchsorted(axis.t_s, begins_s)])
    shares = [calmed(axis, *visit, SHORT_SHARE * limits.hold_s) for visit in visits]
    told = [share for share in shares if share is not None]
    found = [finding("no_hold", at_s)]
    return [*found, finding("short_hold", at_s)] if told and median(told) < 0.5 else found


def visits_without(
    axis: Coordinate, holds: tuple[Hold, ...], limits: EndPlayLimits
) -> list[Finding]:
    """Return a finding for each visit between the first hold and the last in which none was found.

    Before and after them nobody can tell a visit without a hold from a wheel that was left alone.
    """
    found = []
    for first, end in visits_by_level(axis, holds):
        if end <= holds[0].first or first >= holds[-1].end:
            continue
        if any(hold.first < end and first < hold.end for hold in holds):
            continue
        share = calmed(axis, first, end, SHORT_SHARE * limits.hold_s)
        code = "short_hold" if share is not None and share < 0.3 else "no_hold"
        found.append(finding(code, float(axis.t_s[end - 1])))
    return found
