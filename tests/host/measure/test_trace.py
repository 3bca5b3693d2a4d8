"""Traces and the axis they are put on."""

import numpy as np
import pytest

from rockhold.measure.coordinate import coordinate
from rockhold.measure.trace import MM_PER_INCH, Mark, Trace, UnitSpan


def test_exact_inch():
    # By definition of the inch: 0.001, 0.005, 0.0001, 0.0005 in.
    for inch, mm in ((0.001, 0.0254), (0.005, 0.127), (0.0001, 0.00254), (0.0005, 0.0127)):
        assert inch * MM_PER_INCH == pytest.approx(mm, rel=1e-12)


def test_travel_across_a_change_of_unit():
    t_us = np.array([0, 100_000, 200_000, 300_000])
    count = np.array([10, 12, 6, 7])
    trace = Trace(t_us, count, (UnitSpan(0, "mm", 0.01), UnitSpan(2, "in", 0.0127)))
    assert trace.travel_mm == pytest.approx([0.10, 0.12, 0.0762, 0.0889])
    assert trace.t_s == pytest.approx([0, 0.1, 0.2, 0.3])
    axis = coordinate(trace)
    assert (axis.step_mm, axis.digit) == (0.01, pytest.approx(1.27))
    assert axis.count.tolist() == [10, 12, 8, 9]


def test_one_reading_has_no_spacing_and_no_time_between():
    one = Trace(np.array([5]), np.array([7]), (UnitSpan(0, "mm", 0.01),))
    axis = coordinate(one)
    assert (axis.spacing_s, axis.digit) == (1e-6, 1.0)
    two = Trace(np.array([0, 250_000]), np.array([7, 7]), one.spans)
    assert coordinate(two).spacing_s == 0.25
    assert Mark("gauge_silent", 5).value == 0  # nothing was counted
