"""A gauge that froze: it shows one count for longer than this trace does anywhere else.

It swallows what the hub did meanwhile, and starts again with a jump that no hub makes between two
readings. A wheel that nobody moves looks the same, so the sentence names both.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

import numpy as np

from rockhold.measure.choice import Choice
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.disturb import lies_between
from rockhold.measure.findings import Reserve, finding
from rockhold.measure.holds import is_coarse
from rockhold.measure.hub.turning import Turning
from rockhold.measure.result import Finding
from rockhold.measure.turned import rocked_in
from rockhold.measure.visit_times import too_long

FEWEST_HOLDS = 4  # with less nobody can say what is usual
USUAL_S = 2.5  # a hold
NEAR_DIGITS = 2.0  # of the holds' levels
LEAST_S = 2.0
JUMP_DIGITS, LATER_S = 3.0, 0.5
WHOLE, OTHERS = 0.95, 0.8  # of the way to the new place, with one jump
MOVES_S, FEWEST_OTHERS = 1.0, 2  # runs that end with a move
SILENT_S = 0.5
OVER_S, OVER = 10.0, 1.8  # nobody waits as long; against the next longest run
STOOD_STILL = Reserve(
    " The gauge showed one count for longer than anywhere else, as one does that is frozen: measure"
    " again without a pause, and see that its digits follow the rocking.",
    forbids_accept=True,
)


@dataclass(frozen=True, slots=True)
class Flat:
    """A run of one and the same count: indexes (end exclusive), count, and length in seconds."""

    first: int
    end: int
    count: int
    length_s: float


def flats(axis: Coordinate) -> list[Flat]:
    """Return the longest runs of one count, longest first; not the one that opens the trace.

    A silence ends a run: nobody knows what the gauge would have shown.
    """
    silent = np.diff(axis.t_s) > max(SILENT_S, 3.5 * axis.spacing_s)
    edges = np.flatnonzero((np.diff(axis.count) != 0) | silent) + 1
    first = np.concatenate(([0], edges))
    end = np.concatenate((edges, [len(axis.count)]))
    lengths = axis.t_s[end - 1] - axis.t_s[first]
    order = [int(i) for i in np.argsort(-lengths, kind="stable")[:6] if first[i] > 0]
    return [
        Flat(int(first[i]), int(end[i]), int(axis.count[first[i]]), float(lengths[i]))
        for i in order
    ]


def telling(axis: Coordinate, choice: Choice, turning: Turning | None) -> list[Flat]:
    """Return the longest runs of one count, longest first, as far as they tell of the gauge.

    Where a motion sensor, which saw the rocking, saw the wheel stand for longer than in a usual
    hold, the rest of that time counts for nothing: a gauge has then nothing to follow.
    """
    if turning is None or not choice.holds:
        return flats(axis)
    if not rocked_in(turning, choice.holds[0].start_s, choice.holds[-1].end_s):
        return flats(axis)
    stood = turning.still_spans()
    rest = np.maximum(stood[:, 1] - stood[:, 0] - USUAL_S, 0.0)
    idle_s = np.clip(axis.t_s[:, None] - stood[:, 0] - USUAL_S, 0.0, rest).sum(axis=1)
    return flats(replace(axis, t_s=axis.t_s - idle_s))


def frozen(
    axis: Coordinate, choice: Choice, runs: list[Flat], starts: list[float]
) -> list[Finding]:
    """Return a gauge that stood still by itself.

    The longest run of one count is held against the second longest and against the usual time
    from one hold to the next, and each against the times of the visits. At the free stop of the
    plunger it may as well be lost contact; then both are said.

    Args:
        axis: The readings.
        choice: The holds that count.
        runs: Runs of one count, longest first; see `telling`.
        starts: When the visits to the sides began, in seconds.
    """
    if len(runs) < 2 or runs[0].length_s < LEAST_S:
        return []
    outlasting = [run for run in runs if _outlasts_a_visit(axis, choice, runs, run, starts)]
    if not outlasting and not _stands_out(axis, choice, runs[0], runs[1].length_s):
        return []
    longest = outlasting[0] if outlasting else runs[0]
    at_s = float(axis.t_s[longest.first])
    found = [finding("gauge_frozen", at_s)]
    after = axis.count[longest.first : choice.holds[-1].end if choice.holds else None]
    outermost = not len(after) or longest.count in (int(after.min()), int(after.max()))
    if outermost or lies_between(choice, longest.count):
        found.append(finding("contact_lost", at_s))
    return found


def _outlasts_a_visit(
    axis: Coordinate,
    choice: Choice,
    runs: list[Flat],
    run: Flat,
    starts: list[float],
    surely: bool = True,
) -> bool:
    if run.length_s < LEAST_S or len(starts) < 2:
        return False
    middle_s = 0.5 * float(axis.t_s[run.first] + axis.t_s[run.end - 1])
    abrupt = _in_the_work(axis, choice, run.end + 1) and _like_no_other(axis, runs, run)
    return too_long(axis, starts, middle_s, run.length_s, abrupt, surely)


def _in_the_work(axis: Coordinate, choice: Choice, index: int) -> bool:
    """Return whether a reading lies where the holds are, before the last of them ends."""
    levels = [hold.level for hold in choice.holds]
    if not levels or index >= choice.holds[-1].end:
        return False
    room = NEAR_DIGITS * axis.digit
    return bool(min(levels) - room <= axis.count[index] <= max(levels) + room)


def _like_no_other(axis: Coordinate, runs: list[Flat], run: Flat) -> bool:
    """Return whether a run ends with one jump to the new place, and no other run does.

    A quick hand that changes sides within a reading's spacing does so more than once.
    """
    if not WHOLE <= _jump_share(axis, run) <= 1 / OTHERS:
        return False
    if abs(int(axis.count[run.end]) - run.count) < JUMP_DIGITS * axis.digit:
        return False
    others = [_jump_share(axis, one) for one in runs if one is not run and one.length_s >= MOVES_S]
    others = [share for share in others if share != 0.0]
    return len(others) >= FEWEST_OTHERS and max(others) <= OTHERS


def may_be_frozen(axis: Coordinate, choice: Choice, runs: list[Flat], starts: list[float]) -> bool:
    """Return whether a coarse gauge stood on one count for so long that it may have been frozen.

    A finer one moves by itself. In simulated jobs this passes one good one in fourteen, and all
    but one in sixteen of the frozen ones that `frozen` does not find.
    """
    if not is_coarse(axis) or len(choice.holds) < FEWEST_HOLDS:
        return False
    if len(runs) < 2:
        return False
    if _outlasts_a_visit(axis, choice, runs, runs[0], starts, surely=False):
        return True
    share, ratio = _share(choice, runs[0]), runs[0].length_s / max(runs[1].length_s, 1e-3)
    return (share >= 1.1 and ratio >= 1.3) or (share >= 1.0 and _abrupt(axis, runs[0]))


def _share(choice: Choice, run: Flat) -> float:
    """Return a run's length relative to the usual time from one hold to the next."""
    ends = [hold.end_s for hold in choice.holds]
    return run.length_s / median(b - a for a, b in pairwise(ends)) if len(ends) >= 3 else 1.0


def _stands_out(axis: Coordinate, choice: Choice, run: Flat, second_s: float) -> bool:
    """Return whether a run of one count is too long to be a hold of this trace."""
    ratio = run.length_s / max(second_s, 1e-3)
    abrupt = _abrupt(axis, run)
    if run.end == len(axis.count):
        if choice.two_sided and not is_coarse(axis) and len(choice.holds) % 2 == 1:
            return run.length_s >= 3.0 and ratio >= 1.5  # where the missing visit should be
        if run.length_s >= OVER_S and ratio >= OVER:
            return True
        return run.length_s >= 5.0 and ratio >= 2.0 and not lies_between(choice, run.count)
    if not is_coarse(axis):
        # At a side it may be a hold; nobody holds the wheel between the sides.
        least_s = 3.2 if lies_between(choice, run.count) else 3.6
        return (run.length_s >= least_s and ratio >= 1.7) or (ratio >= 1.5 and abrupt)
    share = _share(choice, run)
    return (
        (share >= 1.2 and ratio >= 2.1)
        or (share >= 1.55 and ratio >= 1.5)
        or (share >= 1.65 and ratio >= 1.2)
        or (run.length_s >= 4.0 and ratio >= 2.8)
        or (share >= 0.9 and ratio >= 1.3 and abrupt)
    )


def _abrupt(axis: Coordinate, run: Flat) -> bool:
    """Return whether the readings after a run are at once where they then stay."""
    if run.end >= len(axis.count):
        return False
    jump = abs(int(axis.count[run.end]) - run.count)
    return jump >= JUMP_DIGITS * axis.digit and _jump_share(axis, run) >= OTHERS


def _jump_share(axis: Coordinate, run: Flat) -> float:
    """Return the first change after a run relative to the change in half a second, 0 if small."""
    until = int(np.searchsorted(axis.t_s, axis.t_s[min(run.end, len(axis.t_s) - 1)] + LATER_S))
    later = np.sort(axis.count[run.end + 1 : max(until, run.end + 3)])
    if not len(later):
        return 0.0
    whole = 0.5 * float(later[len(later) // 2] + later[(len(later) - 1) // 2]) - run.count
    if abs(whole) < JUMP_DIGITS * axis.digit:
        return 0.0
    return (int(axis.count[run.end]) - run.count) / whole
