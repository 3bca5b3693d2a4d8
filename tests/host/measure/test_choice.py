"""Which quiet stretches count, on holds made by hand."""

import numpy as np

from rockhold.measure.choice import choose, side_distance, single_visit
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold

FINE = Coordinate(np.arange(4) * 0.05, np.zeros(4, dtype=np.int64), 0.00127, 1.0, 0.05)
COARSE = Coordinate(np.arange(4) * 0.07, np.zeros(4, dtype=np.int64), 0.0127, 1.0, 0.07)


def row(levels, every_s=6.0, rocked=True):
    return [
        Hold(100 * i, 100 * i + 30, every_s * i + 4, every_s * i + 5.5, level, 0.3, 30, rocked)
        for i, level in enumerate(levels)
    ]


def test_cycles_and_sides():
    choice = choose(FINE, row([40, -40, 41, -40, 40, -41]))
    assert choice.upper.tolist() == [True, False] * 3
    assert (choice.cycles, choice.two_sided) == (3, True)
    assert 80 < side_distance(choice) < 81.5


def test_the_wheel_left_alone_does_not_count():
    holds = row([3, 40, -40, 40, -40, 40, -40, 5])
    choice = choose(FINE, holds)
    assert [hold.level for hold in choice.holds] == [40, -40, 40, -40, 40, -40]


def test_one_side_only():
    assert not choose(FINE, row([40, 40.5, 39.8, 40.1, 40.3, 39.9])).two_sided
    assert not choose(COARSE, row([4, 4, 4, 4, 4, 4])).two_sided
    assert single_visit(np.array([False, True, True, False]))
    assert not single_visit(np.array([False, True, False, True]))


def test_a_rest_between_two_pulls_is_no_visit():
    holds = []
    for i in range(5):
        start = 6.0 * i
        holds.append(Hold(200 * i, 200 * i + 60, start, start + 4.5, 9.0, 0.2, 60, True))
        holds.append(Hold(200 * i + 70, 200 * i + 90, start + 4.9, start + 5.5, 3.0, 0.2, 9, False))
    assert not choose(COARSE, holds).two_sided


def test_a_pause_before_seating_gives_way_to_the_later_hold():
    holds = row([40, -40, 40, -40, 40, -40])
    pause = Hold(140, 155, 6.3, 6.9, -34.0, 0.5, 15, True)
    choice = choose(FINE, sorted([*holds, pause], key=lambda hold: hold.first))
    assert -34.0 not in [hold.level for hold in choice.holds]
