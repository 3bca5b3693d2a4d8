"""One count for longer than a visit lasts, and the jump with which a frozen gauge goes on."""

import numpy as np
import pytest

from host.measure.jobs import LIMITS
from host.measure.test_disturb import chosen
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.frozen import flats, frozen, may_be_frozen
from rockhold.measure.holds import find_holds
from rockhold.measure.visit_times import too_long, visit_starts

AXIS = Coordinate(np.arange(600) / 10, np.zeros(600, dtype=np.int64), 0.01, 1.0, 0.1)
STARTS = [2.0, 7.0, 12.5, 17.0, 22.0, 37.0, 42.0]  # one visit of 15 s: two are missing in it


@pytest.mark.parametrize(
    ("middle_s", "length_s", "abrupt", "surely", "told"),
    [
        (29.0, 6.6, False, True, True),  # longer than a visit, where visits are missing
        (29.0, 6.0, False, True, False),
        (29.0, 6.0, False, False, True),  # but perhaps
        (9.0, 6.6, False, True, False),  # in a visit like all others
        (9.0, 25.0, False, True, True),  # so long that no visit is
        (9.0, 4.2, True, True, True),  # and then a jump
        (9.0, 3.8, True, True, False),
        (50.0, 10.2, False, True, True),  # after the last visit began: a visit, and a wait
        (50.0, 9.5, False, True, False),
    ],
)
def test_a_standstill_against_the_visits(middle_s, length_s, abrupt, surely, told):
    assert too_long(AXIS, STARTS, middle_s, length_s, abrupt, surely) is told


def test_two_visits_are_too_few_to_be_held_against():
    assert not too_long(AXIS, [2.0, 7.0], 4.0, 30.0, True)
    assert not too_long(AXIS, [], 4.0, 30.0, True)


def coarse_job(changes, frozen_from=None, until=None):
    """Return a job of a coarse gauge; each change of sides takes so many readings."""
    values, level = [], -10
    for k in range(8):
        other = -level
        way = np.linspace(level, other, changes[k] + 1)[1:]
        stay = np.full(50 + (k % 3), other) + 1 * (np.arange(50 + (k % 3)) % 9 == 4)
        values += [*way, *stay]
        level = other
    count = np.rint(np.array(values)).astype(np.int64)
    if frozen_from is not None:
        count[frozen_from:until] = count[frozen_from]
    return Coordinate(np.arange(len(count)) / 10, count, 0.01, 1.0, 0.1)


def found(axis):
    holds, _ = find_holds(axis, LIMITS)
    choice, starts = chosen(axis), visit_starts(axis, holds)
    runs = flats(axis)
    told = {f.code for f in frozen(axis, choice, runs, starts)}
    return "gauge_frozen" in told, may_be_frozen(axis, choice, runs, starts)


def test_a_gauge_that_froze_over_a_change_of_sides_starts_again_with_a_jump():
    slow = [4] * 8
    assert found(coarse_job(slow)) == (False, False)
    # From within the third visit into the fourth: less than a visit's length, then a jump.
    assert found(coarse_job(slow, 140, 185))[0]
    # A quick hand changes sides between two readings, and the same standstill tells nothing.
    assert not found(coarse_job([1] * 8, 140, 162))[0]


def test_a_gauge_that_swallowed_a_visit():
    slow = [4] * 8
    assert found(coarse_job(slow, 150, 245))[0]
