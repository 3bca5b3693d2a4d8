"""Which of the quiet stretches are holds of the measurement, and on which side each one is."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold, is_coarse
from rockhold.measure.rests import (
    inward,
    only_alone,
    without_early,
    without_let_go,
    without_rests,
)
from rockhold.measure.sides import distance, spread_within, upper_group

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

NO_PLAY_MM = 0.0045  # levels nearer than this are one side, unless they alternate strictly
STRAY_MM = 0.004
LONG_ENOUGH_S = 1.2  # a longer hold tells no more of where a side is
STRAY_FACTOR = 4.5  # times the median distance: three standard deviations of a normal one
SURELY_HELD_S = 1.0
FEWEST_ROCKED = 3
CREPT_MM = 0.01
NEXT_COUNT, NEAR_SHARE = 1.1, 0.3  # a count, but not half way to the other side
INNER_FACTOR = 4.0  # a hold in the middle of the work may lie this much further off


@dataclass(frozen=True, slots=True)
class Choice:
    """The holds that count.

    Attributes:
        holds: In the order of time.
        upper: For each, whether the indication is on the upper side.
        two_sided: Whether the levels really fall into two sides.
        cycles: Complete pairs of one visit to each side.
    """

    holds: tuple[Hold, ...]
    upper: Bools
    two_sided: bool
    cycles: int


def levels_of(holds: list[Hold] | tuple[Hold, ...]) -> Floats:
    """Return the levels of some holds, in counts."""
    return np.array([hold.level for hold in holds], dtype=np.float64)


def candidates(axis: Coordinate, holds: list[Hold]) -> list[Hold]:
    """Return the holds that came after rocking, or all where rocking hardly shows at all."""
    if is_coarse(axis):
        return holds
    rocked = [hold for hold in holds if hold.rocked]
    mostly = weights_of(rocked).sum() >= 0.5 * weights_of(holds).sum()
    return rocked if len(rocked) >= FEWEST_ROCKED and mostly else holds


def weights_of(holds: Sequence[Hold]) -> Floats:
    """Return how much each hold counts for where the sides are: the longer, the more."""
    lengths = np.array([hold.end_s - hold.start_s for hold in holds], dtype=np.float64)
    return np.minimum(lengths, LONG_ENOUGH_S) + 1e-3


def sides_of(holds: list[Hold]) -> Bools:
    """Return which holds are on the upper side; long ones count more."""
    return upper_group(levels_of(holds), weights_of(holds))


def choose(axis: Coordinate, holds: list[Hold]) -> Choice:
    """Choose the holds that count and tell their sides.

    A stretch without rocking before it (the wheel left alone, the hand let go), and the first
    and the last one, count only if they lie where the other holds of a side lie.
    """
    core = candidates(axis, holds)
    inner = core[1:-1] if len(core) > 5 else core
    places, stray = _places(axis, inner)
    if places:
        near = _near_edge(axis, places, stray)
        core = [
            hold
            for hold in holds
            if min(abs(hold.level - place) for place in places)
            <= (INNER_FACTOR * stray if hold in inner else near if _is_long(hold) else stray)
        ]
    upper = sides_of(core)
    if places and not is_coarse(axis):
        core, upper = without_let_go(axis, core, upper, 0.5 * sum(places))
    core, upper = without_rests(core, upper)
    kept, upper = _one_per_visit(axis, core, upper)
    return Choice(kept, upper, _two_sided(axis, kept, upper), _cycles(upper))


def _is_long(hold: Hold) -> bool:
    """Return whether a hold after rocking is longer than a wheel let go mostly rests."""
    return hold.rocked and hold.end_s - hold.start_s >= SURELY_HELD_S


def _near_edge(axis: Coordinate, places: list[float], stray: float) -> float:
    """Return how far the first or the last hold may lie from a side, in counts.

    A level at the edge of a coarse gauge's count may be shown as either of two, and a base that
    creeps moves these two the most.
    """
    near = max(NEXT_COUNT * axis.digit, CREPT_MM / axis.step_mm)
    return max(stray, min(near, NEAR_SHARE * (places[0] - places[1])))


def _places(axis: Coordinate, holds: list[Hold]) -> tuple[list[float], float]:
    """Return the two sides' usual levels and how far a hold may lie from them, in counts."""
    levels = levels_of(holds)
    upper = sides_of(holds)
    if len(levels) < 2 or not upper.any():
        return [], 0.0
    weights = weights_of(holds)
    high, low = (_middle(levels[side], weights[side]) for side in (upper, ~upper))
    stray = max(0.6 * axis.digit, STRAY_MM / axis.step_mm)
    if not is_coarse(axis):
        away = np.abs(levels - np.where(upper, high, low))
        stray = max(stray, STRAY_FACTOR * median(away.tolist()))
    return [high, low], stray


def _middle(levels: Floats, weights: Floats) -> float:
    """Return the weighted median: a coarse gauge shows a short stop in many a change of sides."""
    order = np.argsort(levels, kind="stable")
    below = np.cumsum(weights[order])
    at = int(np.searchsorted(below, 0.5 * below[-1]))
    return float(levels[order[at]])


def _one_per_visit(
    axis: Coordinate, holds: list[Hold], upper: Bools
) -> tuple[tuple[Hold, ...], Bools]:
    """Keep the last hold of each visit where the gauge is too coarse to keep rocking apart."""
    if not is_coarse(axis) or not holds:
        return without_early(holds, upper)
    kept: list[Hold] = [holds[0]]
    sides = [bool(upper[0])]
    for hold, side in zip(holds[1:], upper[1:], strict=True):
        if side != sides[-1]:
            kept.append(hold)
            sides.append(bool(side))
        elif hold.rocked or _further_out(axis, hold, kept[-1], bool(side)):
            kept[-1] = hold
    return tuple(kept), np.array(sides, dtype=np.bool_)


def _further_out(axis: Coordinate, hold: Hold, before: Hold, upper: bool) -> bool:
    """Return whether a hold lies no further in than the one before: the wheel let go does."""
    return inward(before, hold, upper) <= 0.5 * axis.digit


def side_distance(choice: Choice) -> float:
    """Return how far the sides' mean levels lie apart, in counts; 0 with one side."""
    return distance(levels_of(choice.holds), choice.upper)


def _visits(upper: Bools) -> list[bool]:
    """Return the side of each visit: holds in a row on one side are one visit."""
    return [bool(side) for i, side in enumerate(upper) if i == 0 or side != upper[i - 1]]


def single_visit(upper: Bools) -> bool:
    """Return whether the holds may be one visit to one side, with the wheel left alone around."""
    return len(_visits(upper)) <= 3


def _cycles(upper: Bools) -> int:
    visits = _visits(upper)
    return min(visits.count(True), visits.count(False))


def _two_sided(axis: Coordinate, holds: tuple[Hold, ...], upper: Bools) -> bool:
    """Return whether the levels really are those of two sides."""
    if not upper.any() or upper.all():
        return False
    if only_alone(holds, upper):
        return False
    levels = levels_of(holds)
    apart = distance(levels, upper)
    if apart >= max(NO_PLAY_MM / axis.step_mm, 1.2 * axis.digit):
        return True
    alternates = len(_visits(upper)) == len(upper) >= 4
    if is_coarse(axis):
        return len(upper) >= 6 and alternates and apart >= 0.25 * axis.digit and _regular(holds)
    return alternates and apart >= 4 * spread_within(levels, upper)


def _regular(holds: tuple[Hold, ...]) -> bool:
    """Return whether the holds follow each other at about even times, as those of cycles do."""
    between = np.diff([hold.end_s for hold in holds])
    return bool(between.max() <= 2.5 * median(between.tolist()))
