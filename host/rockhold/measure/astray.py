"""A knocked base that only the first hold or the last one shows: it lies at neither side.

One hold alone makes no second pair of sides, so no step explains the levels better than a stray
hold does, and a wheel left alone rests between the sides, too, before the work and after it. So a
base that was knocked is told by more than the level: by a hold outside of both sides, where no
hand can put the hub, or by the kick of the knock itself, or by rocking at the new place.
"""

from dataclasses import dataclass

import numpy as np

from rockhold.measure.choice import Choice, levels_of
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import finding
from rockhold.measure.holds import HANDLING_MM, Hold, shortest_s
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.result import Finding
from rockhold.measure.sides import spread_within

ASTRAY_MM, ASTRAY_DIGITS, ASTRAY_SCATTERS = 0.012, 1.6, 5.0  # from both sides
KICK_MM, KICK_DIGITS = 0.02, 2.5  # beyond all holds
KICK_S = 0.6  # a kick is shorter; a plunger in a hole may stay longer
ROCKED_S = 1.5


@dataclass(frozen=True, slots=True)
class _Sides:
    """The levels of the holds that count, in counts, and how far off a hold of neither lies."""

    low: float
    high: float
    apart: float
    levels: tuple[float, ...]

    def has(self, level: float) -> bool:
        """Return whether a level belongs to a side."""
        return min(abs(level - other) for other in self.levels) <= self.apart

    def outside(self, level: float) -> bool:
        """Return whether a level lies beyond both sides."""
        return level > self.high + self.apart or level < self.low - self.apart


def astray(
    axis: Coordinate, holds: list[Hold], choice: Choice, limits: EndPlayLimits
) -> list[Finding]:
    """Return a knocked base that moved the first hold or the last one only, or nothing."""
    if not choice.two_sided or len(choice.holds) < 4:
        return []
    levels = levels_of(choice.holds)
    apart = max(
        ASTRAY_MM / axis.step_mm,
        ASTRAY_DIGITS * axis.digit,
        ASTRAY_SCATTERS * spread_within(levels, choice.upper),
    )
    sides = _Sides(float(levels.min()), float(levels.max()), apart, tuple(levels.tolist()))
    least_s = shortest_s(axis, limits)
    last = choice.holds[-1]
    for hold in holds:
        if hold.end_s - hold.start_s < least_s or sides.has(hold.level):
            continue
        if abs(hold.level - 0.5 * (sides.low + sides.high)) > HANDLING_MM / axis.step_mm:
            continue
        if hold.first > last.first:
            kick = _kick(axis, sides, hold, last.end, hold.first)
            if kick is not None or sides.outside(hold.level):
                return [finding("base_moved", float(axis.t_s[kick or hold.first]))]
        elif hold.end <= choice.holds[1].first:
            until = next(other for other in choice.holds if other.first >= hold.end)
            kick = _kick(axis, sides, hold, hold.end, until.first)
            worked = hold.rocked and _rocked_here(axis, sides, hold)
            if worked and (kick is not None or sides.outside(hold.level)):
                return [finding("base_moved", float(axis.t_s[kick or hold.end]))]
    return []


def _kick(axis: Coordinate, sides: _Sides, hold: Hold, first: int, end: int) -> int | None:
    """Return the first of some readings that go beyond all holds for a moment, None without."""
    slack = max(KICK_MM / axis.step_mm, KICK_DIGITS * axis.digit)
    low, high = min(sides.low, hold.level) - slack, max(sides.high, hold.level) + slack
    count = axis.count[first:end]
    out = np.flatnonzero((count < low) | (count > high))
    if not len(out) or len(out) * axis.spacing_s > KICK_S:
        return None
    return first + int(out[0])


def _rocked_here(axis: Coordinate, sides: _Sides, hold: Hold) -> bool:
    """Return whether the wheel was rocked where the hold is, and not just on its way there."""
    first = int(np.searchsorted(axis.t_s, hold.start_s - ROCKED_S))
    near = max(0.35 * (sides.high - sides.low), 2 * sides.apart)
    return bool((np.abs(axis.count[first : hold.first] - hold.level) <= near).mean() >= 0.8)
