"""Steps of the coordinate on levels made by hand."""

from dataclasses import replace

import numpy as np
import pytest

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold
from rockhold.measure.steps import find_step, without_step


def holds_at(levels, every=100, length=30):
    """Return a coordinate that jumps from level to level, and its holds."""
    n = every * len(levels)
    count = np.repeat(np.array(levels, dtype=np.int64), every)
    t_s = np.arange(n) * 0.05
    holds = []
    for i, level in enumerate(levels):
        end = (i + 1) * every - 2
        first = end - length
        holds.append(Hold(first, end, t_s[first], t_s[end - 1], float(level), 0.3, length, True))
    return Coordinate(t_s, count, 0.00127, 1.0, 0.05), holds


def test_two_groups_need_no_step():
    axis, holds = holds_at([50, -40, 50, -40, 51, -40])
    assert find_step(axis, axis.count, holds, 6) is None


def test_knocked_base():
    axis, holds = holds_at([50, -40, 50, 260, 350, 260])
    step = find_step(axis, axis.count, holds, 6)
    assert step.kind == "base_moved"
    assert abs(step.size) == pytest.approx(300, abs=91)
    moved = without_step(axis, step)
    assert len(np.unique(moved.count)) == 2


def test_pressed_zero():
    levels = [50, -40, 50, -40, 50, -40]
    axis, holds = holds_at(levels)
    index = 330  # in the rocking before the fourth hold, where the gauge shows -40
    count = axis.count.copy()
    count[index:] -= count[index]
    pressed = Coordinate(axis.t_s, count, axis.step_mm, 1.0, 0.05)
    at = [hold.first >= index for hold in holds]
    moved = [
        Hold(h.first, h.end, h.start_s, h.end_s, h.level + 40 * later, 0.3, 30, True)
        for h, later in zip(holds, at, strict=True)
    ]
    step = find_step(pressed, pressed.count, moved, 6)
    assert (step.kind, step.index, step.size) == ("zero_pressed", index, 40)
    assert (without_step(pressed, step).count == axis.count).all()


def held(*spans):
    """Return a coordinate that stands at a level for so many seconds each, with some tremor."""
    level = np.concatenate([np.full(round(20 * long_s), level) for level, long_s in spans])
    tremor = np.random.default_rng(3).integers(-1, 2, len(level))
    return Coordinate(np.arange(len(level)) / 20, level + tremor, 0.00127, 1.0, 0.05)


def pressed(axis, *at):
    """Return the coordinate of a gauge whose zero was pressed at these readings."""
    count = axis.count.copy()
    for index in at:
        count[index:] -= count[index]
    return replace(axis, count=count)


def holds_of(axis, *spans_s):
    """Return the holds in these spans of time, all after rocking."""
    found = []
    for start_s, end_s in spans_s:
        part = slice(round(20 * start_s), round(20 * end_s))
        level, n = float(axis.count[part].mean()), part.stop - part.start
        found.append(Hold(part.start, part.stop, start_s, end_s - 0.05, level, 0.8, n, True))
    return found


SPANS_S = [(4.0 * k + 2, 4.0 * k + 3.9) for k in range(6)]


def test_zero_pressed_once_on_each_side():
    # Neither press alone makes the levels two again.
    quiet = held(*[(level, 4) for level in (50, -40) * 3])
    axis = pressed(quiet, 120, 190)  # at 6 s, pushed in, and at 9.5 s, pulled out
    holds = holds_of(axis, *SPANS_S)
    first = find_step(axis, axis.count, holds, 6)
    assert (first.kind, first.index) == ("zero_pressed", 120)
    once = without_step(axis, first)
    second = find_step(once, axis.count, holds_of(once, *SPANS_S), 6)
    assert (second.kind, second.index) == ("zero_pressed", 190)
    twice = without_step(once, second)
    assert np.ptp(twice.count - quiet.count) <= 4
    assert find_step(twice, axis.count, holds_of(twice, *SPANS_S), 6) is None


def test_the_wheel_left_alone_is_no_knock():
    axis, holds = holds_at([50, -40, 50, -40, 50, -40, 5])
    assert find_step(axis, axis.count, holds, 6) is None


def test_one_stray_hold_is_no_step():
    axis, holds = holds_at([50, -40, 50, -40, 80, -40, 50, -40])
    assert find_step(axis, axis.count, holds, 6) is None
