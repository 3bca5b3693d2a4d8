"""Steps of the coordinate on levels made by hand."""

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


def test_the_wheel_left_alone_is_no_knock():
    axis, holds = holds_at([50, -40, 50, -40, 50, -40, 5])
    assert find_step(axis, axis.count, holds, 6) is None


def test_one_stray_hold_is_no_step():
    axis, holds = holds_at([50, -40, 50, -40, 80, -40, 50, -40])
    assert find_step(axis, axis.count, holds, 6) is None
