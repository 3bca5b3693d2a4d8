"""A plunger that cannot follow to one side: that side shows the gauge's noise and nothing else.

Rocking turns the face under the plunger by the same angles pulled out and pushed in, and the
rollers seat on both sides: where the plunger follows, both sides move. At its free stop the way
ends at once and the indication stays in a narrow band, the same in every visit, with nothing
beyond it. So the time that one side spends away from its outermost band is held against the time
that the other side spends away from its own usual band of the same width, from every visit to
the last one, because contact may be lost at any time. The band is as wide as the noise of a gauge
may be: one to three counts; each width is tried. For a coarse gauge see rockhold.measure.stop.
"""

from dataclasses import dataclass
from statistics import median

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import sides_of
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.evidence import evidence
from rockhold.measure.findings import finding
from rockhold.measure.holds import Hold
from rockhold.measure.quiet import middle_of_three
from rockhold.measure.result import Finding
from rockhold.measure.sides import last_of_visits

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NOISE_COUNTS = (1, 2, 3)
# Rocking goes to and fro about once in a second: readings nearer than this tell the same.
LOOK_S = 0.25
STILLER = 0.5  # of the other side's share of time away from the band
EVIDENCE, DOUBT = 3.5, 2.0  # log of the likelihood ratio: 33:1, 7:1
LEAST_HOLD_S, SHORT_HOLD_S = 0.8, 0.5
ARRIVAL_S = 3.0  # of the time before the first hold: long enough for its rocking
SIDES, EDGE = (0.08, 0.92), 0.2  # the sides are those of most readings; a band between them
FEWEST_DIGITS = 2.0  # between the sides; with less the level does not tell them
# Without holds on both sides only stays longer than a hold tell that the wheel was rocked there.
LONGEST_HOLD_S, SHORTEST_STAY_S = 3.5, 1.5


@dataclass(frozen=True, slots=True)
class Stay:
    """A visit to a side: its readings beyond half way, counted outward, and when it began."""

    upper: bool
    at_s: float
    readings: Ints


def still_side(axis: Coordinate, holds: list[Hold]) -> tuple[list[Finding], bool]:
    """Return lost contact at the free stop, and whether a stop cannot be ruled out."""
    most, at_s = _most_evidence(axis, stays_of(axis, holds, LEAST_HOLD_S))
    if most < DOUBT and _turns(holds, SHORT_HOLD_S) != _turns(holds, LEAST_HOLD_S):
        # A visit whose hold was short is missing there; here a rest may part one in two.
        most, at_s = _most_evidence(axis, stays_of(axis, holds, SHORT_HOLD_S))
    if most >= EVIDENCE:
        return [finding("contact_lost", at_s)], True
    return [], most >= DOUBT


def _turns(holds: list[Hold], least_s: float) -> int:
    """Return how often holds of some length change sides."""
    upper = sides_of([hold for hold in holds if hold.end_s - hold.start_s >= least_s])
    return int((upper[1:] != upper[:-1]).sum())


def _most_evidence(axis: Coordinate, stays: list[Stay]) -> tuple[float, float]:
    """Return the most that speaks for a stop on one side, as a logarithm, and from when on."""
    most, at_s = 0.0, 0.0
    looks = axis.spacing_s / LOOK_S
    for upper in (True, False):
        same = [stay for stay in stays if stay.upper is upper]
        others = [stay.readings for stay in stays if stay.upper is not upper]
        if len(same) < 2 or len(others) < 2:
            continue
        if stays[0].upper is not upper and len(others) > 2:
            del others[0]  # what opens the work may begin with anything
        n_moving = sum(map(len, others))
        moving = [sum(row) for row in zip(*map(_moving, others), strict=True)]
        for first, n, off in _off([stay.readings for stay in same]):
            for a, b in zip(off, moving, strict=True):
                if a * n_moving <= STILLER * b * n:
                    told = evidence(looks * a, looks * n, looks * b, looks * n_moving)
                    most, at_s = max((most, at_s), (told, same[first].at_s))
    return most, at_s


def _off(stays: list[Ints]) -> list[tuple[int, int, list[int]]]:
    """Return of each stay and all later ones: its index, the readings, those short of the band.

    The band is the outermost one of these stays, of each width in turn.
    """
    low = min(int(readings.min()) for readings in stays)
    edges = [int(readings.max()) - low for readings in stays]
    many = np.zeros(max(edges) + 1, dtype=np.int64)
    found, edge = [], 0
    for first in range(len(stays) - 1, -1, -1):
        edge = max(edge, edges[first])
        many[: edges[first] + 1] += np.bincount(stays[first] - low)
        n = int(many.sum())
        inside = many[max(0, edge + 1 - NOISE_COUNTS[-1]) : edge + 1][::-1].cumsum().tolist()
        inside += inside[-1:] * NOISE_COUNTS[-1]
        found.append((first, n, [n - inside[width - 1] for width in NOISE_COUNTS]))
    return found[1:]


def _moving(readings: Ints) -> list[int]:
    """Return how many readings lie outside of the band of each width that holds the most."""
    many = np.cumsum(np.bincount(readings - int(readings.min()) + NOISE_COUNTS[-1]))
    n = len(readings)
    return [n - int((many[width:] - many[:-width]).max()) for width in NOISE_COUNTS]


def stays_of(axis: Coordinate, holds: list[Hold], least_s: float) -> list[Stay]:
    """Return the visits to both sides: from hold to hold of some length, or by the level alone."""
    found = _by_holds(axis, [h for h in holds if h.end_s - h.start_s >= least_s])
    sides = [stay.upper for stay in found]
    if min(sides.count(True), sides.count(False)) >= 2:
        return found
    return _by_level(axis, holds)


def _by_holds(axis: Coordinate, holds: list[Hold]) -> list[Stay]:
    upper = sides_of(holds)
    if not upper.any():
        return []
    levels = np.array([hold.level for hold in holds])
    middle = 0.5 * (median(levels[upper].tolist()) + median(levels[~upper].tolist()))
    lasts = last_of_visits(upper)
    ends = [holds[i].end for i in lasts]
    return _between(axis, middle, _begin(axis, holds), ends, upper[lasts].tolist())


def _by_level(axis: Coordinate, holds: list[Hold]) -> list[Stay]:
    """Return the stays on both sides as the level tells them, the long ones."""
    groups, middle = groups_by_level(axis, holds)
    if not groups:
        return []
    ends, sides = [end for _, _, end in groups], [upper for upper, _, _ in groups]
    stays = _between(axis, middle, _begin(axis, holds), ends, sides)
    return [s for s in stays if len(s.readings) * axis.spacing_s >= LONGEST_HOLD_S]


def groups_by_level(
    axis: Coordinate, holds: list[Hold]
) -> tuple[list[tuple[bool, int, int]], float]:
    """Return stays beyond a band between the sides as (upper, first, end), and the band's middle.

    Short ones are strokes of a rock and belong to the stay that they interrupt.
    """
    if not holds:
        return [], 0.0
    begin, stop = _begin(axis, holds), holds[-1].end
    count = middle_of_three(axis.count[begin:stop])
    places = [int(share * (len(count) - 1)) for share in SIDES]
    low, high = np.partition(count, places)[places].tolist()
    if high - low < FEWEST_DIGITS * axis.digit:
        return [], 0.0
    middle, edge = 0.5 * (low + high), EDGE * (high - low)
    side = np.where(count > middle + edge, 1, 0) - np.where(count < middle - edge, 1, 0)
    at = np.flatnonzero(side)
    found: list[tuple[bool, int, int]] = []
    for group in np.split(at, np.flatnonzero(np.diff(side[at])) + 1):
        if not len(group):
            continue
        upper, first, last = bool(side[group[0]] > 0), int(group[0]), int(group[-1])
        if found and found[-1][0] is upper:
            found[-1] = (upper, found[-1][1], begin + last + 1)
        elif axis.t_s[begin + last] - axis.t_s[begin + first] >= SHORTEST_STAY_S:
            found.append((upper, begin + first, begin + last + 1))
    return found, middle


def _begin(axis: Coordinate, holds: list[Hold]) -> int:
    return int(np.searchsorted(axis.t_s, holds[0].start_s - ARRIVAL_S))


def _between(
    axis: Coordinate, middle: float, begin: int, ends: list[int], sides: list[bool]
) -> list[Stay]:
    """Return the stays that end so, each with its readings beyond half way."""
    count = middle_of_three(axis.count)
    stays = []
    for end, upper in zip(ends, sides, strict=True):
        sign = 1 if upper else -1
        outward = sign * count[begin:end]
        beyond = outward > sign * middle
        if beyond.any():
            at_s = float(axis.t_s[begin + int(np.argmax(beyond))])
            stays.append(Stay(upper, at_s, outward[beyond]))
        begin = end
    return stays
