"""A pressed zero lands where only a press lands; a knock that comes near is still a knock."""

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
