"""A plunger in a hole: the indication leaves the range of the holds by far and comes back.

A single reading that does so alone is a wild one and no finding. At the free stop, over a hole that
is too deep, nothing moves the indication; on the bottom of one the plunger follows the hub.
"""

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import Choice
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import finding
from rockhold.measure.hanging import HANGING_S, NOISE_MM
from rockhold.measure.holds import Hold
from rockhold.measure.result import Finding

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

BEYOND_MM = 0.06  # runout and seating go less far beyond the holds' levels
STILL_S = 0.9  # on the bottom of a hole the plunger follows the hub; at its free stop it does not
BACK_S = 0.5  # after the last hold: less may be the next move of a gauge that is taken off
START_S = 0.5  # quiet time that ends the setting up


def _set_up(axis: Coordinate, holds: tuple[Hold, ...], rest: int, low: float, high: float) -> int:
    """Return the first reading to look at, after the setting up.

    That ends with the first quiet stretch (`rest`), if the first hold is a later one; else with
    the first half second inside the range.
    """
    if rest < holds[0].first and low <= axis.count[rest] <= high:
        return rest
    inside = (axis.count >= low) & (axis.count <= high)
    outside = np.flatnonzero(~inside)
    first_hold = holds[0].first
    first = 0
    for index in outside[outside < first_hold].tolist():
        # The first stretch without a reading outside is the wheel at rest after the setting up.
        if axis.t_s[index] - axis.t_s[first] >= START_S:
            break
        first = index + 1
    return first


def excursions(axis: Coordinate, holds: tuple[Hold, ...], rest: int) -> list[Finding]:
    """Return plungers that fell into a hole or hung free; `rest` is the first quiet reading."""
    levels = [hold.level for hold in holds]
    beyond = max(BEYOND_MM / axis.step_mm, 3 * axis.digit)
    low, high = min(levels) - beyond, max(levels) + beyond
    first = _set_up(axis, holds, rest, low, high)
    count = axis.count[first:]
    outside = np.flatnonzero((count < low) | (count > high)) + first
    if not len(outside):
        return []
    apart = np.flatnonzero(np.diff(axis.t_s[outside]) > max(0.3, 2.5 * axis.spacing_s)) + 1
    found = []
    for group in np.split(outside, apart):
        at_s = float(axis.t_s[group[0]])
        length_s = float(axis.t_s[group[-1]]) - at_s
        values = axis.count[group]
        if len(group) == 1:
            continue  # wild
        if at_s > holds[-1].end_s and not _came_back(axis, group):
            continue  # taken off after the work
        flat = int(np.ptp(values)) <= axis.digit
        hangs = length_s > HANGING_S and flat
        still_s = _longest_still_s(axis, group, 1 if values[0] > high else -1)
        if hangs or still_s >= STILL_S:
            found.append(finding("contact_lost", at_s))
        if not hangs:
            found.append(finding("plunger_dropped", at_s))
    return found


def _came_back(axis: Coordinate, group: Ints) -> bool:
    """Return whether other readings follow, for as long as a hold is told by."""
    return bool(axis.t_s[-1] - axis.t_s[group[-1]] >= BACK_S)


def _longest_still_s(axis: Coordinate, group: Ints, side: int) -> float:
    """Return how long the readings of a group stood at its outermost place at most, in seconds.

    At the free stop nothing but the gauge's own noise moves them.
    """
    outward = side * axis.count[group]
    still = np.flatnonzero(outward >= outward.max() - int(NOISE_MM / axis.step_mm))
    runs = np.split(group[still], np.flatnonzero(np.diff(still) > 1) + 1)
    return max(float(axis.t_s[run[-1]] - axis.t_s[run[0]]) for run in runs)


def lies_between(choice: Choice, count: int, least: float = 0.0) -> bool:
    """Return whether a count lies clearly between the sides, as a wheel left alone does.

    Clearly is a seventh of their distance, or `least` counts if that is more.
    """
    levels = [hold.level for hold in choice.holds]
    if not levels:
        return True
    low, high = min(levels), max(levels)
    edge = max(0.15 * (high - low), least)
    return low + edge < count < high - edge
