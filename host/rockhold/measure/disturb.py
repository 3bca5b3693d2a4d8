"""Faults that the readings show by themselves: plunger in a hole, lost contact, frozen gauge.

- In a hole, the indication leaves the range of the holds by far and comes back. A single reading
  that does so alone is a wild one and no finding.
- Without contact, the plunger stands at its free stop: one side shows one count through whole
  visits, rocking and all, while the other side moves.
- A frozen gauge repeats one count for longer than this trace does anywhere else, and starts
  again with a jump that no hub makes between two readings.
"""

from dataclasses import dataclass
from itertools import pairwise
from statistics import median

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import Choice, side_distance
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import finding
from rockhold.measure.holds import Hold, is_coarse
from rockhold.measure.result import Finding

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

BEYOND_MM = 0.06  # runout and seating go less far beyond the holds' levels
HANGING_S = 2.5  # a plunger does not stay in a hole as long; a hanging one does
STOP_RUN_S = 0.6
FLAT_BETWEEN_S = 1.5
INWARD_MM = 0.015  # holds of one side do not differ by as much
FAR_MM = 0.6  # no end play is as large while it is still measured with this tool
START_S = 0.5  # quiet time that ends the setting up


@dataclass(frozen=True, slots=True)
class Flat:
    """A run of one and the same count: indexes (end exclusive), count, and length in seconds."""

    first: int
    end: int
    count: int
    length_s: float


def _span(axis: Coordinate, choice: Choice, low: float, high: float) -> tuple[int, int]:
    """Return the readings to look at: from the end of the setting up to the last hold."""
    inside = (axis.count >= low) & (axis.count <= high)
    outside = np.flatnonzero(~inside)
    first_hold = choice.holds[0].first
    first = 0
    for index in outside[outside < first_hold].tolist():
        # The first stretch without a reading outside is the wheel at rest after the setting up.
        if axis.t_s[index] - axis.t_s[first] >= START_S:
            break
        first = index + 1
    return first, choice.holds[-1].end


def excursions(axis: Coordinate, choice: Choice, band: int) -> list[Finding]:
    """Return plungers that fell into a hole or hung free."""
    levels = [hold.level for hold in choice.holds]
    beyond = max(BEYOND_MM / axis.step_mm, 3 * axis.digit, band)
    low, high = min(levels) - beyond, max(levels) + beyond
    first, end = _span(axis, choice, low, high)
    count = axis.count[first:end]
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
        flat = int(np.ptp(values)) <= axis.digit
        hangs = length_s > HANGING_S and flat
        found.append(finding("contact_lost" if hangs else "plunger_dropped", at_s))
    return found


def flats(axis: Coordinate) -> list[Flat]:
    """Return the longest runs of one count, longest first; not the one that opens the trace."""
    edges = np.flatnonzero(np.diff(axis.count)) + 1
    first = np.concatenate(([0], edges))
    end = np.concatenate((edges, [len(axis.count)]))
    lengths = axis.t_s[end - 1] - axis.t_s[first]
    order = [int(i) for i in np.argsort(-lengths, kind="stable")[:6] if first[i] > 0]
    return [
        Flat(int(first[i]), int(end[i]), int(axis.count[first[i]]), float(lengths[i]))
        for i in order
    ]


def frozen(axis: Coordinate, choice: Choice) -> list[Finding]:
    """Return a gauge that stood still by itself.

    The longest run of one count is held against the second longest and against the usual time
    from one hold to the next. At the free stop of the plunger it may as well be lost contact;
    then both are said.
    """
    runs = flats(axis)
    if len(runs) < 2 or runs[0].length_s < 2.0:
        return []
    longest = runs[0]
    if not _stands_out(axis, choice, longest, runs[1].length_s):
        return []
    at_s = float(axis.t_s[longest.first])
    found = [finding("gauge_frozen", at_s)]
    to_the_end = longest.end == len(axis.count)
    after = axis.count[longest.first : choice.holds[-1].end if choice.holds else None]
    if to_the_end or (len(after) and longest.count in (int(after.min()), int(after.max()))):
        found.append(finding("contact_lost", at_s))
    return found


def _stands_out(axis: Coordinate, choice: Choice, run: Flat, second_s: float) -> bool:
    """Return whether a run of one count is too long to be a hold of this trace."""
    ratio = run.length_s / max(second_s, 1e-3)
    abrupt = _abrupt(axis, run)
    if run.end == len(axis.count):
        if choice.two_sided and not is_coarse(axis) and len(choice.holds) % 2 == 1:
            return run.length_s >= 3.0 and ratio >= 1.5  # where the missing visit should be
        return run.length_s >= 5.0 and ratio >= 2.0 and not _between(choice, run.count)
    if not is_coarse(axis):
        return (run.length_s >= 3.2 and ratio >= 1.7) or (ratio >= 1.5 and abrupt)
    ends = [hold.end_s for hold in choice.holds]
    share = run.length_s / median(b - a for a, b in pairwise(ends)) if len(ends) >= 3 else 1.0
    return (
        (share >= 1.5 and ratio >= 1.6)
        or (share >= 1.8 and ratio >= 1.3)
        or (run.length_s >= 4.0 and ratio >= 2.8)
        or (share >= 0.9 and ratio >= 1.3 and abrupt)
    )


def _abrupt(axis: Coordinate, run: Flat) -> bool:
    """Return whether the readings after a run are at once where they then stay."""
    if run.end >= len(axis.count):
        return False
    until = int(np.searchsorted(axis.t_s, axis.t_s[run.end] + 0.5))
    later = axis.count[run.end + 1 : max(until, run.end + 3)]
    if not len(later):
        return False
    whole = float(np.median(later)) - run.count
    jump = int(axis.count[run.end]) - run.count
    return abs(jump) >= 3 * axis.digit and jump * whole > 0 and abs(jump) >= 0.8 * abs(whole)


def _between(choice: Choice, count: int) -> bool:
    """Return whether a count lies clearly between the sides, as a wheel left alone does."""
    levels = [hold.level for hold in choice.holds]
    if not levels:
        return True
    low, high = min(levels), max(levels)
    edge = 0.15 * (high - low)
    return low + edge < count < high - edge


def stopped(axis: Coordinate, choice: Choice) -> list[Finding]:
    """Return a plunger at its free stop: from some time on one side shows one count and no more.

    Every visit to that side ends at the same count, which is the outermost reading from then on,
    and stays there through rocking and hold; the other side moves as before.
    """
    if is_coarse(axis):
        return []  # one count through whole visits is usual there
    last = choice.holds[-1].end
    for sign in (1, -1):
        count = sign * axis.count[:last]
        edges = np.flatnonzero(np.diff(count)) + 1
        first = np.concatenate(([0], edges))
        end = np.concatenate((edges, [last]))
        lengths = axis.t_s[end - 1] - axis.t_s[first]
        long = (lengths >= STOP_RUN_S) & (first > 0)
        # The least reading from each run on, found from the end.
        least = np.minimum.accumulate(count[::-1])[::-1][first]
        at_stop = long & (count[first] == least)
        if not at_stop.any():
            continue
        stop = int(count[first[at_stop]][-1])
        runs = at_stop & (count[first] == stop)
        others = long & ~runs & (first >= first[runs][0])
        usual_s = float(lengths[others].max()) if others.any() else 0.0
        longest_s = float(lengths[runs].max())
        if longest_s >= 2.8 and longest_s >= 2.2 * usual_s:
            return [finding("contact_lost", float(axis.t_s[first[runs][0]]))]
    return []


def one_side_changed(axis: Coordinate, holds: list[Hold], choice: Choice) -> list[Finding]:
    """Return lost contact that shows as one side's level moving inward for good.

    Holds that were not chosen because they lie beyond a side count as that side's: they may be
    the only ones from before the plunger came to its stop.
    """
    if not choice.two_sided:
        return []
    sides = {h.first: bool(up) for h, up in zip(choice.holds, choice.upper, strict=True)}
    known = [hold.level for hold in choice.holds]
    for hold in holds:
        if hold.first not in sides and hold.end_s - hold.start_s >= 1.0:
            if hold.level > max(known):
                sides[hold.first] = True
            elif hold.level < min(known):
                sides[hold.first] = False
    for side, inward in ((True, -1), (False, 1)):
        same = [hold for hold in holds if sides.get(hold.first) is side]
        others = [hold.level for hold in holds if sides.get(hold.first) is (not side)]
        if len(same) < 2 or len(others) < 2:
            continue
        levels = np.array([hold.level for hold in same])
        cut = int(np.argmax(inward * np.diff(levels))) + 1
        moved = inward * (levels[cut:].mean() - levels[:cut].mean())
        within = max(np.ptp(levels[:cut]), np.ptp(levels[cut:]), np.ptp(others))
        least = max(3 * axis.digit, INWARD_MM / axis.step_mm, 4 * within)
        if moved >= least and max(hold.spread for hold in same[cut:]) <= 0.3 * axis.digit:
            return [finding("contact_lost", same[cut].start_s)]
    return []


def flat_between(axis: Coordinate, holds: list[Hold], choice: Choice) -> list[Finding]:
    """Return lost contact that shows as flat stretches between the sides, where no hold can be.

    A wheel left alone rests between the sides, too, but before the work or after it.
    """
    if not choice.two_sided or len(choice.holds) < 3:
        return []
    chosen = {hold.first for hold in choice.holds}
    last = choice.holds[-1].end
    flat = [
        hold
        for hold in holds
        if hold.first not in chosen
        and choice.holds[0].end < hold.first
        and hold.spread <= 0.05 * axis.digit
        and hold.end_s - hold.start_s >= FLAT_BETWEEN_S
        and _between(choice, round(hold.level))
    ]
    inner = [hold for hold in flat if hold.first < last]
    apart = side_distance(choice)
    if len(inner) == 1 and apart < 6 * axis.digit:
        return []  # a pause on the way, as far as so coarse a count can tell
    return [finding("contact_lost", inner[0].start_s)] if inner else []


def without_far(axis: Coordinate, holds: list[Hold]) -> tuple[list[Hold], list[Finding]]:
    """Drop quiet stretches so far away that the plunger must hang or the gauge was taken off.

    Returns the other holds, and lost contact if such a stretch was flat and long and came after
    the first of them.
    """
    if len(holds) < 4:
        return holds, []
    levels = np.array([hold.level for hold in holds])
    usual = median(levels.tolist())
    far = np.abs(levels - usual) > FAR_MM / axis.step_mm
    if not far.any() or far.sum() > len(holds) / 3:
        return holds, []
    near = [hold for hold, is_far in zip(holds, far, strict=True) if not is_far]
    hung = [
        hold
        for hold, is_far in zip(holds, far, strict=True)
        if is_far and hold.first > near[0].first and hold.spread <= 0.3 * axis.digit
    ]
    return near, [finding("contact_lost", hung[0].start_s)] if hung else []
