"""Steps of the coordinate: the gauge's zero was pressed, or its base was knocked.

A pressed zero lands on zero from one reading to the next and stays: every later level is off by
the same amount. A knocked base shifts all later levels, too, but to anywhere. In both cases the
levels fall into more than two groups, and moving the later ones back makes them two again.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import combinations
from statistics import median

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import HANDLING_MM, Hold, is_coarse
from rockhold.measure.levels import Levels
from rockhold.measure.press import pressed_at

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST = 14  # holds; more tell nothing new
MOST_CANDIDATES = 40
MOST_STANDING = 8
OPENING_S = 0.7  # a stretch that begins sooner opens the readings: nothing was done before it
BEYOND_MM = 0.012
LEAST_DIGITS, LEAST_MM = 2.5, 0.005  # a smaller jump is the hub's, or does no harm
BESIDE_S = 0.2  # before a press, and after it, the indication stands for at least so long
BEND_SHARE = 0.3  # of the jump: the finger on the button pushes the gauge, too
ALONE_TIMES = 2.0  # a pressed zero jumps by so many times what the hub moves just before and after
ALONE_MM = 0.03
FEWEST_LEVELS = 4  # of three levels any two become one by some step
ONE_PLACE = 0.6  # of the distance of the sides: levels nearer together are not those of two sides
LEVEL_SCATTER_MM = 0.0025  # levels of one side scatter less than this (hand and stopping angle)


@dataclass(frozen=True, slots=True)
class FoundStep:
    """A step of the coordinate.

    Attributes:
        kind: "zero_pressed" or "base_moved".
        index: First reading after the step.
        at_s: Time of that reading, in seconds.
        size: By how much the coordinate jumped, in counts.
        u: Standard uncertainty of the size, in counts; infinite if only the levels tell.
    """

    kind: str
    index: int
    at_s: float
    size: int
    u: float


def _tolerance(axis: Coordinate) -> float:
    """Return the spread within sides that needs no step to explain it, in counts."""
    return float(np.hypot(0.45 * axis.digit, LEVEL_SCATTER_MM / axis.step_mm))


def steady_holds(axis: Coordinate, holds: list[Hold]) -> list[Hold]:
    """Return the holds to judge steps by: not the wheel left alone at the start and the end."""
    kept = holds
    if is_coarse(axis):
        kept = sorted(
            sorted(holds, key=lambda h: h.start_s - h.end_s)[:MOST], key=lambda h: h.first
        )
    else:
        rocked = [hold.level for hold in holds if hold.rocked]
        if len(rocked) >= 4:
            # No wheel left alone lies beyond the sides; a hand that pulls harder moves less.
            slack = max(3 * _tolerance(axis), BEYOND_MM / axis.step_mm)
            low, high = min(rocked) - slack, max(rocked) + slack
            kept = [hold for hold in holds if hold.rocked or not low <= hold.level <= high]
    opens = bool(kept) and kept[0].start_s - axis.t_s[0] < OPENING_S
    if _may_be_left_alone(kept, 0, opens):
        kept = kept[1:]  # before the gauge was set up it showed anything
    if _may_be_left_alone(kept, -1, False):
        kept = kept[:-1]
    return kept[:MOST]


def _may_be_left_alone(holds: list[Hold], at: int, anywhere: bool) -> bool:
    """Return whether a hold at one end may be the wheel without a hand: between the sides."""
    if len(holds) <= 3 or holds[at].rocked:
        return False
    others = [hold.level for hold in holds if hold is not holds[at]]
    return anywhere or min(others) <= holds[at].level <= max(others)


def zero_candidates(axis: Coordinate, shown: Ints, band: int) -> list[int]:
    """Return the readings that the gauge showed at zero and that came there by a jump."""
    jump = np.abs(np.diff(axis.count))
    near = np.abs(shown[1:]) <= max(1, band // 3)
    least = max(LEAST_DIGITS * axis.digit, LEAST_MM / axis.step_mm, band / 2)
    found = np.flatnonzero(near & (jump >= least)) + 1
    alone = [i for i in found.tolist() if stands_out(axis, i, int(jump[i - 1]))]
    return [i for i in alone[:MOST_CANDIDATES] if jump[i - 1] > 3 * _motion(axis, i)]


def stood(axis: Coordinate, index: int) -> bool:
    """Return whether the indication stood, jumped between two readings, and stayed about there."""
    many = max(3, round(BESIDE_S / axis.spacing_s))
    before, after = axis.count[max(0, index - many) : index], axis.count[index : index + many]
    if len(after) < 3:
        return False
    jump = abs(int(axis.count[index] - axis.count[index - 1]))
    most = max(axis.digit, BEND_SHARE * jump)
    return bool(np.ptp(before) <= most and np.ptp(after) <= most)


def stands_out(axis: Coordinate, index: int, size: float) -> bool:
    """Return whether a jump to a reading is no part of a longer motion.

    A hub on its way, and a knocked base that a gauge shows with its lag, take several readings.
    """
    change = np.abs(np.diff(axis.count[max(0, index - 2) : index + 2]))
    if index < 2 or index + 2 > len(axis.count):
        return True
    return bool(abs(size) >= ALONE_TIMES * max(change[0], change[2]))


def _motion(axis: Coordinate, index: int) -> float:
    """Return how far the indication usually moves between readings before an index, in counts."""
    before = axis.count[max(0, index - 6) : index]
    return median(np.abs(np.diff(before)).tolist()) if len(before) > 1 else 0.0


def find_step(axis: Coordinate, shown: Ints, holds: list[Hold], band: int) -> FoundStep | None:
    """Return the step that explains the levels best, or None if they need none.

    `shown` is what the gauge showed, before any step was taken out: a press lands on its zero.
    If no step explains them all, a step that explains all but one hold is taken.
    """
    holds = steady_holds(axis, holds)
    levels = Levels.of(holds)
    if len(holds) < 3 or levels.spread() <= _tolerance(axis):
        return None
    zeros = [zero_step(axis, i) for i in zero_candidates(axis, shown, band)]
    standing = [z for z in zeros if stood(axis, z.index)][:MOST_STANDING]
    without = [holds[:i] + holds[i + 1 :] for i in range(len(holds))] if len(holds) >= 6 else []
    step = _presses(axis, levels, zeros, standing)
    if step is None and any(Levels.of(k).spread() <= 1.5 * _tolerance(axis) for k in without):
        return _level_step(axis, shown, holds)  # or one stray hold explains it
    step = step or _first(_presses(axis, Levels.of(k), standing, standing) for k in without)
    step = step or _level_step(axis, shown, holds)
    if step is not None:
        return step
    step = _first(_level_step(axis, shown, kept) for kept in without)
    # The hold that was left out may be the one that shows where a side stayed.
    if step is None or not _both_sides_moved(axis, levels.level, levels.from_on(step.index)):
        return None
    return step


def _first(steps: Iterable[FoundStep | None]) -> FoundStep | None:
    return next((step for step in steps if step is not None), None)


def _within(axis: Coordinate, levels: Levels) -> float:
    """Return the spread that may be left once a step is taken out, in counts."""
    return max(1.5 * _tolerance(axis), 0.3 * levels.spread())


def _presses(
    axis: Coordinate, levels: Levels, zeros: list[FoundStep], standing: list[FoundStep]
) -> FoundStep | None:
    """Return the pressed zero, or the first of two standing ones, that explains the levels."""
    likely = [z for z in zeros if _both_sides_moved(axis, levels.level, levels.from_on(z.index))]
    for presses in ([(z,) for z in likely], list(combinations(standing, 2))):
        spreads = [levels.spread(*((z.index, z.size) for z in some)) for some in presses]
        if spreads and min(spreads) <= _within(axis, levels):
            return presses[int(np.argmin(spreads))][0]
    return None


def _both_sides_moved(axis: Coordinate, levels: Floats, later: NDArray[np.bool_]) -> bool:
    """Return whether neither side kept its place, as it must be when the coordinate stepped.

    If one side stayed where it was, the other alone moved: that is lost contact.
    """
    if not later.any() or later.all():
        return False
    before, after = levels[~later], levels[later]
    if len(before) < 2 or len(after) < 2:
        return True
    kept = 0.75 * axis.digit
    top, bottom = after.max() - before.max(), after.min() - before.min()
    return bool(abs(top) > kept and abs(bottom) > kept)


def zero_step(axis: Coordinate, index: int) -> FoundStep:
    """Return the step of a pressed zero: what moved meanwhile and the digits make it uncertain."""
    size = int(axis.count[index] - axis.count[index - 1])
    u = float(np.hypot(axis.digit / np.sqrt(6), _motion(axis, index)))
    return FoundStep("zero_pressed", index, float(axis.t_s[index]), size, u)


def _level_step(axis: Coordinate, shown: Ints, holds: list[Hold]) -> FoundStep | None:
    """Return the shift of all holds from one on that makes the levels two groups again."""
    if len(holds) < FEWEST_LEVELS:
        return None
    levels, enough = Levels.of(holds), _tolerance(axis)
    at, size, spread = levels.best_shift()
    if spread > _within(axis, levels) or abs(size) < 4 * enough:
        return None
    if _left_alone(axis, levels.level, at, size, enough):
        return None
    if not _both_sides_moved(axis, levels.level, np.arange(len(holds)) >= at):
        return None
    earlier, later = holds[at - 1], holds[at]
    kind = "zero_pressed"
    index = pressed_at(axis, shown, (earlier.end - 1, later.first), size, enough)
    if index is None or not stands_out(axis, index, size):
        kind, index = "base_moved", _jump_between(axis, earlier, later, size)
    return FoundStep(kind, index, float(axis.t_s[index]), round(size), float("inf"))


def _left_alone(axis: Coordinate, levels: Floats, at: int, size: float, enough: float) -> bool:
    """Return whether a few holds at one end are better explained by the wheel left alone.

    Without a hand the hub rests somewhere between the sides. A single hold beyond them may still
    be a bad one, or the gauge being taken off; it takes more to call that a knock.
    """
    few, others = (
        (levels[:at], levels[at:]) if at <= len(levels) / 2 else (levels[at:], levels[:at])
    )
    if len(others) < 3:
        return False
    between = few.min() > others.min() + enough and few.max() < others.max() - enough
    if between and np.ptp(few) < ONE_PLACE * np.ptp(others):
        return True
    large = max(10 * enough, ALONE_MM / axis.step_mm)
    return len(few) == 1 and not large <= abs(size) <= HANDLING_MM / axis.step_mm


def _jump_between(axis: Coordinate, hold: Hold, later: Hold, size: float) -> int:
    """Return where between two holds the jump of about this size is most abrupt."""
    first, end = hold.end - 1, later.first + 1
    change = np.diff(axis.count[first:end]) * np.sign(size)
    return first + 1 + int(np.argmax(change))


def without_step(axis: Coordinate, step: FoundStep) -> Coordinate:
    """Return the coordinate as it would be without the step."""
    count = axis.count.copy()
    count[step.index :] -= step.size
    return replace(axis, count=count)
