"""A pressed zero lands where only a press lands; a knock that comes near is still a knock."""

from itertools import pairwise

import numpy as np
import pytest

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.press import pressed_at


def axis_of(count, spacing_s=0.05):
    count = np.asarray(count, dtype=np.int64)
    return Coordinate(spacing_s * np.arange(len(count)), count, 0.00127, 1.0, spacing_s)


def moving(size, at, start=200):
    """Return a hub that sets off, slows down, and a step of the coordinate on its way."""
    travel = start - np.rint(60 * (1 - np.exp(-np.clip(np.arange(30) - 5, 0, None) / 4)))
    travel[at:] += size
    return travel.astype(np.int64)


@pytest.mark.parametrize("at", [6, 8, 10, 15])
@pytest.mark.parametrize("since", [0.0, 0.4, 0.9])
def test_press_while_the_hub_moves(at, since):
    quiet = moving(0, 30)
    size = -round(quiet[at - 1] + (1 - since) * (quiet[at] - quiet[at - 1]))
    count = moving(size, at)
    assert pressed_at(axis_of(count), count, (2, 28), size, 2.0) == at


@pytest.mark.parametrize("off", [-25, -6, 6, 25])
def test_knock_that_does_not_reach_zero(off):
    size = -int(moving(0, 30)[20]) + off
    count = moving(size, 20)
    assert pressed_at(axis_of(count), count, (2, 28), size, 2.0) is None


def test_knock_that_a_lagging_gauge_shows_in_parts():
    count = np.full(30, 80)
    count[15:] -= np.rint(70 * (1 - np.exp(-(np.arange(15) + 1) / 2))).astype(int)
    assert pressed_at(axis_of(count), count, (2, 28), -70, 2.0) is None


def test_second_press_lands_on_the_zero_that_the_gauge_shows():
    shown = np.array([150] * 10 + [0] * 10 + [60] * 10 + [0] * 10)
    axis = shown.copy()
    axis[10:] += 150  # the first press is already taken out
    assert pressed_at(axis_of(axis), shown, (22, 38), -60, 2.0) == 30


def test_nothing_between():
    count = np.zeros(5, dtype=np.int64)
    assert pressed_at(axis_of(count), count, (3, 3), 10, 1.0) is None


def by_the_rule(axis, shown, between, size, u_size):
    """Return the pressed reading by the module's words, one reading after the other."""
    count, slack = axis.count.tolist(), axis.digit + u_size
    at = range(between[0] + 1, between[1] + 1)
    change = [0, *(b - a for a, b in pairwise(count)), 0, 0]
    off = {i: abs(change[i] - size) for i in at}
    rougher = {i: off[i] - abs(change[i]) for i in at}
    likely = [i for i in at if rougher[i] <= min(rougher.values()) + slack]
    if sum(off[i] + 2 * slack for i in likely) > 0.12 / axis.step_mm:  # 0.2 of 0.6 mm
        return None
    edge = max(axis.digit / 2, 0.0013 / axis.step_mm)
    fits = {}
    for i in likely:
        moved = change[i] - size
        beside = [0, *(change[j] for j in (i - 2, i - 1, i + 1, i + 2) if j > 0)]
        onward = -shown[i] if moved < 0 else shown[i]
        reach = 3 * (-min(beside) if moved < 0 else max(beside))
        lands = -edge <= onward <= min(off[i] + u_size, reach) + edge
        if lands and 3 * min(beside) - slack <= moved <= 3 * max(beside) + slack:
            fits[i] = off[i]
    return min(fits, key=fits.get) if fits else None


@pytest.mark.parametrize(("step_mm", "digit"), [(0.00127, 1.0), (0.00127, 7.9), (0.01, 1.0)])
def test_the_rule_reading_by_reading(step_mm, digit):
    rng = np.random.default_rng(4)
    pressed = 0
    for _ in range(400):
        n = int(rng.integers(8, 24))
        first = int(rng.integers(0, 4))
        last = int(rng.integers(n - 4, n))
        at = int(rng.integers(first + 1, last + 1))
        still = rng.random() < 0.2  # nobody moves the hub
        count = np.rint(rng.normal(rng.normal(0, 2), 1.5 * rng.random(), n))
        count = np.cumsum(0 * count if still else count).astype(int)
        moved, wide = count[at] - count[at - 1], round(2 + 2 * digit)
        size = int(rng.integers(10, 80)) * int(rng.choice([-1, 1]))
        count[at:] += size
        lands = round(moved * rng.uniform(-0.5, 1.5)) + int(rng.integers(-wide, wide))
        shown = count - count[at] + lands
        asked = size + int(rng.integers(-2, 3))
        axis = Coordinate(0.05 * np.arange(n), count, step_mm, digit, 0.05)
        u_size = float(rng.choice([0.3, 1.0, 2.5]))
        expected = by_the_rule(axis, shown, (first, last), asked, u_size)
        assert pressed_at(axis, shown, (first, last), asked, u_size) == expected
        pressed += expected is not None
    assert 0.1 < pressed / 400 < 0.9  # both answers come about
