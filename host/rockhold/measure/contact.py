"""Lost contact that shows in the levels: the plunger comes to its free stop, or hangs.

One side's level moves inward for good, or flat stretches lie between the sides where no hold can
be. A hanging plunger shows one count far beyond everything else (rockhold.measure.hanging). A side
that stands at the stop is found by rockhold.measure.still, or .stop with a coarse gauge.
"""

from statistics import median

import numpy as np

from rockhold.measure.choice import Choice, side_distance
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.disturb import lies_between
from rockhold.measure.findings import finding
from rockhold.measure.holds import Hold, is_coarse
from rockhold.measure.hub.turning import Turning
from rockhold.measure.result import Finding
from rockhold.measure.turned import rocked_in

FLAT_BETWEEN_S, FLAT_BETWEEN_COARSE_S = 1.2, 1.5
SHORTEST_S = 0.7  # a shorter one may be a pause on the way to the other side
LONG_BETWEEN_S = 2.0
# From both sides: a level of a side is told to about a count, and one behind a step to some more.
APART_DIGITS, APART_SHARE = 1.5, 0.2
FEWEST_VISITS = 5
INWARD_MM = 0.015  # holds of one side do not differ by as much
HANGING_MM = 0.1  # the free stop is at least this far beyond the work
FAR_MM = 0.6  # no end play is as large while it is still measured with this tool


def one_side_changed(axis: Coordinate, holds: list[Hold], choice: Choice) -> list[Finding]:
    """Return lost contact that shows as one side's level moving inward for good.

    Holds that were not chosen because they lie beyond a side count as that side's: they may be
    the only ones from before the plunger came to its stop.
    """
    if not choice.two_sided:
        return []
    pairs = zip(choice.holds, choice.upper, strict=True)
    chosen = {h.first: bool(up) for h, up in pairs if h.end_s - h.start_s >= SHORTEST_S}
    apart = max(1.6 * axis.digit, INWARD_MM / axis.step_mm)
    beyond = _beyond(holds, choice, chosen, apart)
    sides = chosen | beyond
    for side, inward in ((True, -1), (False, 1)):
        same = [hold for hold in holds if sides.get(hold.first) is side]
        others = [hold.level for hold in holds if sides.get(hold.first) is (not side)]
        if len(same) < 2 or len(others) < 2:
            continue
        levels = np.array([hold.level for hold in same])
        cut = int(np.argmax(inward * np.diff(levels))) + 1
        before = np.array([h.level for h in _before(same[:cut], holds[0], beyond)])
        moved = inward * (levels[cut:].mean() - before.mean())
        within = max(np.ptp(before), np.ptp(levels[cut:]), np.ptp(others))
        if (
            moved >= max(apart, 4 * within)
            and max(hold.spread for hold in same[cut:]) <= 0.3 * axis.digit
        ):
            return [finding("contact_lost", same[cut].start_s)]
    return []


def _before(same: list[Hold], opening: Hold, beyond: dict[int, bool]) -> list[Hold]:
    """Return the holds from before a change, without the wheel left alone before the work.

    That opens the trace, and may have been taken for a hold of this side.
    """
    early = [hold for hold in same if hold.first in beyond] if len(same) <= 2 else []
    if early or len(same) < 2 or same[0] is not opening or opening.rocked:
        return early or same
    return same[1:]


def _beyond(
    holds: list[Hold], choice: Choice, chosen: dict[int, bool], apart: float
) -> dict[int, bool]:
    """Return the sides of long holds, not chosen, that lie so far beyond all that were."""
    known = [hold.level for hold in choice.holds]
    return {
        hold.first: hold.level > max(known)
        for hold in holds
        if hold.first not in chosen
        and hold.end_s - hold.start_s >= 1.0
        and not min(known) - apart < hold.level < max(known) + apart
    }


def flat_between(axis: Coordinate, holds: list[Hold], choice: Choice) -> list[Finding]:
    """Return lost contact that shows as flat stretches between the sides, where no hold can be.

    A wheel left alone rests between the sides, too, but before the work or at the very end.
    """
    if not choice.two_sided or len(choice.holds) < 3:
        return []
    chosen = {hold.first for hold in choice.holds}
    least_s = FLAT_BETWEEN_COARSE_S if is_coarse(axis) else FLAT_BETWEEN_S
    flat = [
        hold
        for hold in holds[:-1]
        if hold.first not in chosen
        and choice.holds[0].end < hold.first
        and hold.spread <= 0.05 * axis.digit
        and hold.end_s - hold.start_s >= least_s
        and lies_between(choice, round(hold.level), 1.5 * axis.digit)
    ]
    if len(flat) == 1 and side_distance(choice) < 6 * axis.digit:
        return []  # a pause on the way, as far as so coarse a count can tell
    return [finding("contact_lost", flat[0].start_s)] if flat else []


def visited_between(axis: Coordinate, holds: list[Hold], turning: Turning | None) -> list[Finding]:
    """Return lost contact that shows as one count between the sides, long, and again and again.

    For a coarse gauge, whose levels the choice of the sides cannot weigh. A wheel left alone rests
    somewhere between, too, but hardly twice at the same count in the middle of the work; and a
    motion sensor on the hub, where there is one, sees that it was not left alone.
    """
    held = [hold for hold in holds if hold.end_s - hold.start_s >= FLAT_BETWEEN_S]
    if not is_coarse(axis) or len(held) < FEWEST_VISITS:
        return []
    low, high = min(hold.level for hold in held), max(hold.level for hold in held)
    room = max(APART_DIGITS * axis.digit, APART_SHARE * (high - low))
    outer = [hold.first for hold in held if not low + room <= hold.level <= high - room]
    flat = [
        hold
        for hold in held
        if hold.first not in outer
        and hold.spread <= 0.05 * axis.digit
        and hold.end_s - hold.start_s >= LONG_BETWEEN_S
        and hold.first > outer[0]
    ]
    for hold in flat:
        again = [other for other in flat if round(other.level) == round(hold.level)]
        worked = turning is not None and rocked_in(turning, hold.start_s, hold.end_s)
        if worked or (len(again) >= 2 and hold.first < outer[-1]):
            return [finding("contact_lost", hold.start_s)]
    return []


def without_far(axis: Coordinate, holds: list[Hold]) -> tuple[list[Hold], list[Finding]]:
    """Drop quiet stretches so far away that the plunger must hang or the gauge was taken off.

    Far is further than FAR_MM from the usual, or, for a long flat stretch, further beyond all
    others than these lie apart. Returns the other holds, and lost contact if such a stretch was
    flat and came after the first of them.
    """
    if len(holds) < 4:
        return holds, []
    levels = np.array([hold.level for hold in holds])
    flat = np.array([h.spread <= 0.1 * axis.digit and h.end_s - h.start_s >= 2.0 for h in holds])
    far = np.abs(levels - median(levels.tolist())) > FAR_MM / axis.step_mm
    for i in np.flatnonzero(flat & ~far).tolist():
        same = np.flatnonzero(np.abs(levels - levels[i]) <= 2 * axis.digit)
        others = levels[~far & (np.abs(levels - levels[i]) > 2 * axis.digit)]
        in_a_row = same[-1] - same[0] == len(same) - 1  # a side is visited again and again
        if len(others) >= 3 and in_a_row:
            beyond = max(others.min() - levels[i], levels[i] - others.max())
            far[i] = beyond > max(np.ptp(others), HANGING_MM / axis.step_mm)
    if not far.any() or far.sum() > len(holds) / 3:
        return holds, []
    near = [hold for hold, is_far in zip(holds, far, strict=True) if not is_far]
    hung = [
        hold
        for hold, is_far, is_flat in zip(holds, far, flat, strict=True)
        if is_far and is_flat and hold.first > near[0].first
    ]
    return near, [finding("contact_lost", hung[0].start_s)] if hung else []
