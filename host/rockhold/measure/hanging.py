"""A plunger that hangs free in the middle of the work: still, and where no hub can put it.

Off the face, or over a deep hole, the plunger goes out to its free stop and stays there. Nothing
moves it, so the indication shows the gauge's own noise and no more, for longer than a hold; and it
lies beyond all the rest of the work, which goes there once and does not come back. A side is
visited again and again; a new place of the coordinate (zero pressed, base knocked) as well.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.findings import finding
from rockhold.measure.holds import is_coarse
from rockhold.measure.quiet import middle_of_three
from rockhold.measure.result import Finding
from rockhold.measure.steps import FoundStep

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

HANGING_S = 2.5  # a plunger does not stay in a hole as long
BEYOND_MM, BEYOND_DIGITS = 0.1, 4.0  # of everything else: runout and seating go less far
NOISE_MM = 0.004  # the readings of a still gauge lie within so much, or within a count
SLOW_S, SLOW_CHANGES = 1.0, 3  # a coarse gauge may show both sides of a small play within a count
FALLING_S = 0.8  # on the way there or back, its lag included
MOSTLY = 0.95
STUCK_S = 5.0  # in a deep hole, and only while the wheel is rocked
VISIT_S = 8.0  # one visit to a side may be as long, and show nothing where the face runs true
PLAY_MM = 0.3  # no end play is as large; nearer, it may be the hub at rest, or a frozen gauge
SETTING_UP_S = 5.0  # before the work the hub rests anywhere in its play
VISITED_S, FEWEST_VISITS = 1.2, 4  # a rest, one visit and a rest are three
SIDES = (0.08, 0.92)  # the sides are those of most readings


@dataclass(frozen=True, slots=True)
class Hanging:
    """Readings of a hanging plunger: indexes (end exclusive), and what else they may be.

    Attributes:
        first: The first one.
        end: After the last one.
        at_s: When it began, in seconds.
        surely: Whether the coordinate cannot just have stepped for the last visit.
        hole: Whether a hole may have caught the plunger.
        one_count: Whether a gauge that froze would show the same.
    """

    first: int
    end: int
    at_s: float
    surely: bool
    hole: bool
    one_count: bool


def hanging(axis: Coordinate) -> Hanging | None:
    """Return where the plunger hung free once the gauge had been set up, or None."""
    middle = middle_of_three(axis.count)
    return _beyond(axis, -middle) or _beyond(axis, middle)


def _beyond(axis: Coordinate, outward: Ints) -> Hanging | None:
    """Return the one long still stay at the outermost place, if nothing else comes near it."""
    edge = int(outward.max())
    away = edge - outward
    gap = max(BEYOND_MM / axis.step_mm, BEYOND_DIGITS * axis.digit)
    at_edge = np.flatnonzero(away <= max(axis.digit, NOISE_MM / axis.step_mm))
    if axis.t_s[at_edge[-1]] - axis.t_s[at_edge[0]] < HANGING_S:
        return None
    cuts = np.flatnonzero(np.diff(axis.t_s[at_edge]) > FALLING_S) + 1
    stays = [(int(s[0]), int(s[-1]) + 1) for s in np.split(at_edge, cuts)]
    stays = [(a, b) for a, b in stays if a == 0 or axis.t_s[b - 1] - axis.t_s[a] >= HANGING_S]
    inside, near = np.zeros(len(away), dtype=np.bool_), np.zeros(len(away), dtype=np.bool_)
    for first, end in stays:
        inside[first:end] = True
        near[_with_falls(axis, first, end)] = True
    if near.all() or inside[at_edge].mean() < MOSTLY or (away[~near] < gap).any():
        return None
    begun = [(first, end) for first, end in stays if not near[:first].all()]
    if len(begun) != 1 or not _leaves_the_work(axis, *begun[0], near, float(away[~near].min())):
        return None
    if is_coarse(axis) and (_runs(axis, *begun[0]) >= SLOW_S).sum() > SLOW_CHANGES:
        return None
    return _hung(axis, *begun[0], float(away[~near].min()) * axis.step_mm)


def _leaves_the_work(axis: Coordinate, first: int, end: int, near: Bools, gap: float) -> bool:
    """Return whether the indication left the work for a stay and came back to it, if at all.

    After a step of the coordinate the one visit from before it, or from after it, lies beyond
    everything else, too; but not further from it than the two sides lie apart, or the work is not
    the same before and after it.
    """
    before, after = axis.count[:first][~near[:first]], axis.count[end:][~near[end:]]
    low, high = _sides(np.concatenate((before, after)))
    if gap <= high - low:
        return False
    if len(after) and abs(np.median(before) - np.median(after)) > max(high - low, 0.5 * gap):
        return False
    if gap * axis.step_mm > PLAY_MM:
        return True
    # The hub may rest there before the work, or be pushed there in the only cycle.
    sides = np.concatenate((before, after)) > 0.5 * (low + high)
    cuts = np.flatnonzero(np.diff(sides, prepend=~sides[:1], append=~sides[-1:]))
    visits = int((np.diff(cuts) * axis.spacing_s >= VISITED_S).sum())
    return visits >= FEWEST_VISITS and axis.t_s[first] - axis.t_s[0] >= SETTING_UP_S


def _runs(axis: Coordinate, first: int, end: int) -> Floats:
    """Return how long one count was shown without a change, again and again, in seconds."""
    count = middle_of_three(axis.count[first:end])
    edges = np.concatenate(([0], np.flatnonzero(np.diff(count)) + 1, [len(count)]))
    t_s = axis.t_s[first:end]
    return np.asarray(t_s[edges[1:] - 1] - t_s[edges[:-1]], dtype=np.float64)


def _sides(count: Ints) -> tuple[float, float]:
    places = [int(share * (len(count) - 1)) for share in SIDES]
    low, high = np.partition(count, places)[places].tolist()
    return low, high


def _hung(axis: Coordinate, first: int, end: int, rest_mm: float) -> Hanging:
    length_s = float(axis.t_s[end - 1] - axis.t_s[first])
    back, runs = end < len(axis.count), _runs(axis, first, end)
    return Hanging(
        first,
        end,
        float(axis.t_s[first]),
        surely=back or length_s >= VISIT_S,
        hole=back and length_s <= STUCK_S,
        one_count=rest_mm <= PLAY_MM and runs.max() >= MOSTLY * length_s,
    )


def without_hanging(axis: Coordinate, hung: Hanging | None) -> Coordinate:
    """Return the coordinate without the readings that surely are no hub's, like a silence."""
    if hung is None or not hung.surely:
        return axis
    near = np.zeros(len(axis.count), dtype=np.bool_)
    near[_with_falls(axis, hung.first, hung.end)] = True
    rest = axis.count[~near]
    kept = (axis.count >= rest.min()) & (axis.count <= rest.max())
    kept[hung.first : hung.end] = False
    return replace(axis, t_s=axis.t_s[kept], count=axis.count[kept])


def _with_falls(axis: Coordinate, first: int, end: int) -> slice:
    """Return a stay and the ways there and back."""
    low, high = axis.t_s[first] - FALLING_S, axis.t_s[end - 1] + FALLING_S
    a, b = np.searchsorted(axis.t_s, [low, high])
    return slice(int(a), int(b))


def hanging_findings(hung: Hanging | None, steps: list[FoundStep]) -> list[Finding]:
    """Return lost contact, with the other names that the readings allow.

    A step of the coordinate before the last visit explains why that lies beyond all others, and
    so does a pressed zero that begins it.
    """
    if hung is None:
        return []
    for step in steps:
        early_s = FALLING_S if step.kind == "base_moved" else -FALLING_S
        if not hung.surely and step.at_s < hung.at_s - early_s:
            return []
    codes = ["contact_lost"]
    codes += ["plunger_dropped"] if hung.hole else []
    codes += ["gauge_frozen"] if hung.one_count else []
    return [finding(code, hung.at_s) for code in codes]
