"""The battery budget, against a reckoning by hand."""

import pytest

from rockcircuit import battery
from rockcircuit.build import circuit_of

ROWS = battery.loads(circuit_of("pico_w"))


def current_of(name):
    return next(row.current_ma for row in ROWS if row.name.startswith(name))


def test_currents_follow_from_the_parts():
    assert current_of("green lamp") == pytest.approx(1.2 / 470 * 1000)
    assert current_of("beeper") == pytest.approx(39.3, abs=0.1)  # 3.3 V / 42 Ω, half the time
    assert current_of("bridge of 350") == pytest.approx(8.86, abs=0.01)
    # 47 kΩ beside 65 kΩ is 27.3 kΩ; two lines at 3.3 V
    assert current_of("gauge lines") == pytest.approx(0.242, abs=0.001)


def test_hours_of_a_board():
    # 25 + 20 + 0.242 + 3 % of 2.553 mA at 3.3 V; 1.1419 times that from the cell, and 0.0185 mA.
    cell_ma = battery.from_cell_ma(ROWS, False, frozenset())
    assert cell_ma == pytest.approx(51.77, abs=0.05)
    assert battery.hours(cell_ma) == pytest.approx(15.45, abs=0.05)


def test_more_parts_and_more_work_take_more():
    ready = battery.from_cell_ma(ROWS, False, frozenset())
    assert battery.from_cell_ma(ROWS, True, frozenset()) > ready
    assert battery.from_cell_ma(ROWS, False, frozenset(("bridge",))) > ready + 10
