"""A knocked base that only the first hold or the last one shows: it lies at neither side.

One hold alone makes no second pair of sides, so no step explains the levels better than a stray
hold does, and a wheel left alone rests between the sides, too, before the work and after it. So a
base that was knocked is told by more than the level: by a hold outside of both sides, where no
hand can put the hub, or by the kick of the knock itself, or by rocking at the new place.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import Choice, levels_of
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import finding
from rockhold.measure.holds import HANDLING_MM, Hold, is_coarse, shortest_s
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.result import Finding
from rockhold.measure.sides import spread_within

Ints = NDArray[np.int64]

ASTRAY_MM, ASTRAY_DIGITS, ASTRAY_SCATTERS = 0.012, 1.6, 5.0  # from both sides
KICK_MM, KICK_DIGITS = 0.02, 2.5  # beyond all holds
KICK_S = 1.5
STROKES_S = 1.2
SHOWS_DIGITS = 4.0
SLOWER, FASTER = 0.5, 1.5  # a wheel that is let go, or handled, moves less or more
BOTH_WAYS = 0.15  # of the usual travel at least is on either side of a hold
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
    sides = _sides(axis, choice)
    reach = HANDLING_MM / axis.step_mm
    first, last = choice.holds[1].first, choice.holds[-1].first
    least_s = shortest_s(axis, limits)
    odd = [
        hold
        for hold in holds
        if (hold.end <= first or hold.first > last)
        and hold.end_s - hold.start_s >= least_s
        and abs(hold.level - 0.5 * (sides.low + sides.high)) <= reach
        and not sides.has(hold.level)
    ]
    usual = _usual_rock(axis, choice) if odd else 0.0
    for hold in odd:
        at = _knocked_at(axis, sides, choice, hold, usual)
        if at is not None:
            return [finding("base_moved", float(axis.t_s[at]))]
    return []


def _sides(axis: Coordinate, choice: Choice) -> _Sides:
    levels = levels_of(choice.holds)
    apart = max(
        ASTRAY_MM / axis.step_mm,
        ASTRAY_DIGITS * axis.digit,
        ASTRAY_SCATTERS * spread_within(levels, choice.upper),
    )
    return _Sides(float(levels.min()), float(levels.max()), apart, tuple(levels.tolist()))


def _knocked_at(
    axis: Coordinate, sides: _Sides, choice: Choice, hold: Hold, usual: float
) -> int | None:
    """Return the reading at which the base was knocked, before or after a hold at neither side.

    None if the wheel may have been left alone there.
    """
    last = choice.holds[-1]
    early = hold.first < last.first
    if early:
        until = next(other.first for other in choice.holds if other.first >= hold.end)
        kick = _kick(axis, sides, hold, hold.end, until)
    else:
        kick = _kick(axis, sides, hold, last.end, hold.first)
    told = sides.outside(hold.level) or kick is not None
    if early:
        told &= hold.rocked and _rocked_here(axis, sides, hold)
    if not told and not _rocked_alike(axis, hold, usual):
        return None
    return kick if kick is not None else hold.end if early else hold.first


def _strokes(axis: Coordinate, hold: Hold) -> Ints:
    """Return the readings of the last strokes before a hold."""
    first = int(np.searchsorted(axis.t_s, hold.start_s - STROKES_S))
    return axis.count[first : hold.first + 1]


def _usual_rock(axis: Coordinate, choice: Choice) -> float:
    """Return how far the indication usually travels in them; 0 where rocking does not show."""
    travel = float(np.median([np.ptp(_strokes(axis, hold)) for hold in choice.holds]))
    return travel if not is_coarse(axis) and travel >= SHOWS_DIGITS * axis.digit else 0.0


def _rocked_alike(axis: Coordinate, hold: Hold, usual: float) -> bool:
    """Return whether the wheel was rocked before a hold as before the others, to and fro there."""
    strokes = _strokes(axis, hold)
    if not hold.rocked or not SLOWER * usual <= np.ptp(strokes) <= FASTER * usual:
        return False
    beyond = min(float(strokes.max()) - hold.level, hold.level - float(strokes.min()))
    return usual > 0 and beyond >= BOTH_WAYS * usual


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
    here = np.abs(axis.count[first : hold.first] - hold.level) <= near
    return len(here) > 0 and bool(here.mean() >= 0.8)
