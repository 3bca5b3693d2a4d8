"""A coarse gauge that shows rocking on one side only: nobody can say that the plunger follows."""

import numpy as np
import pytest

from rockhold.measure.choice import Choice
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.hidden import hides_motion
from rockhold.measure.holds import Hold


def job(seed, upper=0.0, lower=0.0, stop=None, swing=0.6, noise=0.05, visits=8):
    """Return a job in counts of a coarse gauge, 10 a second; levels are parts of a count."""
    rng = np.random.default_rng(seed)
    exact, held = [], []
    for k in range(visits):
        t = np.arange(56) / 10
        side = 8 + upper if k % 2 == 0 else lower
        way = side + swing * np.sin(2 * np.pi * 0.8 * t) * (t < 3.4)
        exact.append(np.maximum(way, stop) if stop is not None else way)
        held.append((56 * k + 38, 56 * (k + 1)))
    count = np.rint(np.concatenate(exact) + rng.normal(0, noise, 56 * visits)).astype(np.int64)
    t_s = np.arange(len(count)) / 10
    holds = tuple(
        Hold(a, b, t_s[a], t_s[b - 1], float(count[a:b].mean()), 0.0, b - a) for a, b in held
    )
    choice = Choice(holds, np.arange(visits) % 2 == 0, True, visits // 2)
    return Coordinate(t_s, count, 0.01, 1.0, 0.1), choice


@pytest.mark.parametrize("stop", [3.0, 3.3, 3.5, 3.48])  # within a count, and at its edge
def test_a_side_that_moves_no_more_while_rocked_than_while_held(stop):
    assert sum(hides_motion(*job(seed, stop=stop)) for seed in range(10)) >= 8


def test_where_both_sides_move_or_neither_does_nothing_is_hidden():
    for seed in range(10):
        assert not hides_motion(*job(seed, upper=0.3, lower=0.4))
        assert not hides_motion(*job(seed, upper=0.45, lower=-0.5, swing=0.3))
        assert not hides_motion(*job(seed, swing=0.2))


def test_a_motion_that_lies_within_a_count_cannot_be_told_from_none():
    # Followed all the way, and still left undecided: what the reserve is for.
    assert hides_motion(*job(1, upper=0.25, swing=0.4))


def test_too_little_to_look_at():
    axis, choice = job(1, stop=3.0)
    assert not hides_motion(*job(1, stop=3.0, visits=2))
    assert not hides_motion(*job(1, stop=7.2))  # the sides lie within a count and a half
    one_sided = Choice(choice.holds, choice.upper, False, 0)
    assert not hides_motion(axis, one_sided)
