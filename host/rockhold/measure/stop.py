"""A coarse gauge whose plunger is at its free stop: the way in to one side is cut off.

Where the plunger follows the hub, both sides show the same kinds of motion: the way in, the last
of the seating, the face while the wheel is rocked. At the stop the way ends abruptly, visit after
visit, at the same count. A coarse gauge stands on one count by itself, so only the way in is held
against the way in to the other side, from every visit to the last one, because contact may be lost
at any time. What points to a stop without proving it makes the verdict "undecided". A fine gauge
shows much more: rockhold.measure.still.
"""

from dataclasses import dataclass
from math import sqrt
from statistics import mean, median, pvariance

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import Choice, side_distance
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.evidence import evidence
from rockhold.measure.findings import finding
from rockhold.measure.result import Finding

Ints = NDArray[np.int64]

ARRIVAL_S = 3.0  # of the time before the first hold: long enough for its rocking
DOUBT = 2.0  # log of the likelihood ratio of two rates of moving readings against one: 7:1
# Readings per visit one count short of the outermost one. More of them are the slowing down of a
# hub that is followed all the way.
ABRUPT = 1.0
WAY_SHARE = 0.65  # of the readings on the way to the other side: a stop cuts the slow part off
WAY_T = 2.0  # Student's t of that difference; no simulated job without the fault in 800 passed
LEAST_SHORTER = 1.5  # readings; a single one may be chance in every visit
LEAST_SD = 0.5  # readings: the chance of where on the way the gauge is read
NEARLY_ABRUPT = 2.0  # readings per visit, all but the outermost, that leave a doubt
# So few a visit one count short of it leave a doubt, too, where the other side has that many more
# of all but its commonest. Every other stopped job that would be accepted has it, and one in 24
# good ones, in two simulators.
FEW_SHORT, MORE = 2.5, 2.0
FEWEST_DIGITS = 2.5  # between the sides; with less there is no way in to look at


@dataclass(frozen=True, slots=True)
class _Visit:
    """One visit to a side, counted outward: readings beyond half way, and those outermost."""

    upper: bool
    first: int
    readings: Ints
    outermost: int
    at_outermost: int


def _visits(axis: Coordinate, choice: Choice) -> list[_Visit]:
    levels = np.array([hold.level for hold in choice.holds])
    middle = 0.5 * (levels[choice.upper].mean() + levels[~choice.upper].mean())
    start_s = choice.holds[0].start_s - ARRIVAL_S
    first = int(np.searchsorted(axis.t_s, start_s))
    found = []
    for hold, upper in zip(choice.holds, choice.upper.tolist(), strict=True):
        sign = 1 if upper else -1
        counts = sign * axis.count[first : hold.end]
        counts = counts[counts > sign * middle]
        most = int(counts.max())
        found.append(_Visit(upper, first, counts, most, int((counts == most).sum())))
        first = hold.end
    return found


def _moving(readings: Ints) -> int:
    """Return how many readings do not show the commonest count."""
    return len(readings) - int(np.bincount(readings - readings.min()).max())


def stopped(axis: Coordinate, choice: Choice) -> tuple[list[Finding], bool]:
    """Return lost contact at a coarse gauge's free stop, and whether it cannot be ruled out."""
    if not choice.two_sided or side_distance(choice) < FEWEST_DIGITS * axis.digit:
        return [], False
    visits = _visits(axis, choice)
    doubtful = False
    for upper in (True, False):
        same = [visit for visit in visits if visit.upper is upper]
        others = [visit for visit in visits if visit.upper is not upper]
        readings = np.concatenate([visit.readings for visit in others])
        moving = _moving(readings)
        usual = [_moving(visit.readings) for visit in others if visit is not visits[0]]
        for start in range(len(same) - 1):
            later = same[start:]
            most = max(visit.outermost for visit in later)
            if _cut_off(visits[0], later, others, most):
                return [finding("contact_lost", _reached_s(axis, later, most))], True
            n = sum(len(visit.readings) for visit in later)
            off = n - sum(visit.at_outermost for visit in later if visit.outermost == most)
            told = evidence(off, n, moving, len(readings))
            doubtful |= off <= NEARLY_ABRUPT * len(later) and told >= DOUBT
            more = mean(usual or [0]) - off / len(later)
            few = not start and _short_of(later, most) <= FEW_SHORT * len(later)
            doubtful |= few and more >= MORE
    return [], doubtful


def _cut_off(opening: _Visit, visits: list[_Visit], others: list[_Visit], most: int) -> bool:
    """Return whether the way in to one side is cut off, measured by the way to the other one.

    The way is all readings from half way to two counts short of the place; the visit that opens
    the work has none. Nearer than that it is the rounding that tells the readings apart.
    """
    if _short_of(visits, most) > ABRUPT * len(visits):
        return False
    way = [int((v.readings <= most - 2).sum()) for v in visits if v is not opening]
    usual = [_way_in(v.readings) for v in others if v is not opening]
    if len(way) < 2 or len(usual) < 2:
        return False
    shorter = median(usual) - mean(way)
    dof = len(way) + len(usual) - 2
    squares = len(way) * pvariance(way) + len(usual) * pvariance(usual)
    sd = sqrt(squares / dof + LEAST_SD**2)
    t = shorter / (sd * sqrt(1 / len(way) + 1 / len(usual)))
    return t >= WAY_T and shorter >= LEAST_SHORTER and mean(way) <= WAY_SHARE * median(usual)


def _short_of(visits: list[_Visit], most: int) -> int:
    """Return how many readings lie one count short of the outermost one."""
    return sum(int((visit.readings == most - 1).sum()) for visit in visits)


def _way_in(readings: Ints) -> int:
    """Return how many readings lie two counts or more short of the commonest one."""
    lowest = readings.min()
    return int((readings <= lowest + np.bincount(readings - lowest).argmax() - 2).sum())


def _reached_s(axis: Coordinate, visits: list[_Visit], most: int) -> float:
    """Return when the outermost count was first shown, in seconds."""
    count = axis.count[visits[0].first :]
    at = np.flatnonzero(count == (most if visits[0].upper else -most))
    return float(axis.t_s[visits[0].first + int(at[0])])
