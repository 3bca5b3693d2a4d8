"""The likelihood of the digits: what coarse counts can tell, and what they cannot."""

import numpy as np
import pytest

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.digits import digits_end_play
from rockhold.measure.visits import Visit

STEP_MM = 0.0127
RNG = np.random.default_rng(11)


def job(low, high, cycles=4, tremor=0.05, swing=0.0, scatter=0.0):
    """Return a coordinate and its visits: 3 s of rocking and 1.5 s of hold at 14 readings/s."""
    counts, visits = [], []
    for k in range(2 * cycles):
        upper = k % 2 == 0
        level = (high if upper else low) + RNG.normal(0, scatter)
        t = np.arange(42) / 14
        rock = level + swing * np.sin(2 * np.pi * 0.9 * t + RNG.uniform(0, 6))
        hold = np.full(21, level)
        first = len(counts)
        values = np.concatenate((rock, hold)) + RNG.normal(0, tremor, 63)
        counts += np.floor(values + 0.5).astype(int).tolist()
        visits.append(Visit(first, first + 42, first + 63, upper))
    n = len(counts)
    return Coordinate(np.arange(n) / 14, np.array(counts), STEP_MM, 1.0, 1 / 14), visits


def test_constant_digits_leave_a_count_on_both_sides():
    axis, visits = job(10.0, 16.0, tremor=0.0)
    result = digits_end_play(axis, visits, [], 0.95)
    assert result.end_play == pytest.approx(6.0, abs=0.05)
    assert 0.4 < result.half_width < 0.9  # the difference of two rectangles: at most 0.776


def test_dithering_tells_more_than_a_constant_count():
    quiet_axis, quiet_visits = job(10.0, 16.0, tremor=0.0)
    axis, visits = job(10.5, 16.5, tremor=0.05)
    quiet = digits_end_play(quiet_axis, quiet_visits, [], 0.95)
    dithering = digits_end_play(axis, visits, [], 0.95)
    assert dithering.u < 0.9 * quiet.u
    assert dithering.end_play == pytest.approx(6.0, abs=0.2)


def test_rocking_across_the_digits_places_a_constant_hold():
    errors_hold, errors_rock = [], []
    for _ in range(40):
        low = RNG.uniform(9.5, 10.5)
        high = low + RNG.uniform(5.5, 6.5)
        axis, visits = job(low, high, tremor=0.02, swing=1.3)
        holds_only = [Visit(v.hold_first, v.hold_first, v.end, v.upper) for v in visits]
        errors_hold.append(digits_end_play(axis, holds_only, [], 0.95).end_play - (high - low))
        errors_rock.append(digits_end_play(axis, visits, [], 0.95).end_play - (high - low))
    assert np.std(errors_rock) < 0.8 * np.std(errors_hold)


def test_interval_holds_the_truth():
    inside = 0
    for _ in range(100):
        low = RNG.uniform(9.5, 10.5)
        high = low + RNG.uniform(5.5, 6.5)
        axis, visits = job(low, high, tremor=RNG.uniform(0, 0.15), swing=RNG.uniform(0, 1))
        result = digits_end_play(axis, visits, [], 0.95)
        inside += abs(result.end_play - (high - low)) <= result.half_width
    assert inside >= 90


def test_a_step_makes_two_stretches():
    axis, visits = job(10.2, 16.1, tremor=0.05)
    whole = digits_end_play(axis, visits, [], 0.95)
    parted = digits_end_play(axis, visits, [visits[4].rock_first], 0.95)
    assert parted.end_play == pytest.approx(whole.end_play, abs=0.5)
    assert digits_end_play(axis, visits[:1], [], 0.95) is None
