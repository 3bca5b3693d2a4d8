"""Rocking and hold of each visit."""

import numpy as np
import pytest

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold
from rockhold.measure.visits import LONGEST_HOLD_S, visits_of


def test_rock_lies_between_the_change_of_sides_and_the_hold():
    t_s = np.arange(400) * 0.05
    axis = Coordinate(t_s, np.zeros(400, dtype=np.int64), 0.01, 1.0, 0.05)
    holds = (
        Hold(60, 90, 3.0, 4.45, 5.0, 0.2, 30, True),
        Hold(160, 190, 8.0, 9.45, -5.0, 0.2, 30, True),
        Hold(240, 380, 12.0, 18.95, 5.0, 0.2, 140, True),
    )
    visits = visits_of(axis, holds, np.array([True, False, True]))
    assert [visit.upper for visit in visits] == [True, False, True]
    assert 90 < visits[1].rock_first < visits[1].hold_first == 160
    assert visits[1].end == 190
    # Of a long quiet stretch only the last part is a hold.
    assert t_s[visits[2].hold_first] == pytest.approx(18.95 - LONGEST_HOLD_S, abs=0.051)
