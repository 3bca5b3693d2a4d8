"""The end of the work by the holds that the board told: what comes later is a wait.

Common practice, no source: a hub stays where it was pushed last, until somebody moves it.
"""

from dataclasses import replace

import numpy as np
import pytest

from host.measure.test_pause import JOBS, left_after
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.trace import Mark, Trace, UnitSpan
from rockhold.measure.work_end import without_wait
from rockhold.procedure.endplay import shipped_limits
from rockhold.simulator.draw import GAUGES, draw_scenario
from rockhold.simulator.simulate import simulate

LIMITS = shipped_limits()
MANY = next(n for n in JOBS if draw_scenario("0.00005 in, 20/s", n).technician.cycles > 3)


def told(truth, spread_s=1.2):
    """Return the marks of a board that tells each hold when it has lasted so long."""
    return tuple(
        Mark("hold_told", round((hold.start_s + spread_s) * 1e6), number)
        for number, hold in enumerate(truth.holds, start=1)
    )


def measured(trace):
    return measure_trace(trace, LIMITS, GaugeFacts())


def codes(result):
    return {finding.code for finding in result.findings}


@pytest.mark.parametrize("gauge", GAUGES)
def test_a_wheel_left_where_it_was_held_last_is_no_frozen_gauge(gauge):
    with_marks, without, further_mm = 0, 0, []
    for seed in JOBS:
        trace, truth = simulate(draw_scenario(gauge, seed), seed)
        alone = measured(trace)
        waited = left_after(trace, truth.holds[-1].end_s - 0.15)
        result = measured(replace(waited, marks=told(truth)))
        wrong = {"gauge_frozen", "contact_lost"} - codes(alone)
        with_marks += bool(codes(result) & wrong)
        without += bool(codes(measured(waited)) & wrong)
        further_mm.append(abs(result.end_play_mm - alone.end_play_mm) - alone.u_mm)
    assert with_marks <= 1
    assert without >= len(JOBS) - 3  # what the marks are there for
    assert np.median(further_mm) < 0  # another last hold, the same end play


def test_a_gauge_that_stops_before_the_work_is_done_is_told_all_the_same():
    for gauge in GAUGES:
        trace, truth = simulate(draw_scenario(gauge, 1_203), 1_203)
        stopped = left_after(trace, truth.holds[3].start_s - 0.5)
        result = measured(replace(stopped, marks=told(truth)[:3]))
        assert result.verdict != "accept"
        assert "gauge_frozen" in codes(result), gauge


def test_every_further_hold_counts():
    trace, truth = simulate(draw_scenario("0.00005 in, 20/s", MANY), MANY)
    marks = told(truth)
    assert len(marks) > 6
    assert measured(replace(trace, marks=marks)).cycles == measured(trace).cycles
    assert measured(replace(trace, marks=marks[:6])).cycles == 3
    assert measured(replace(trace, marks=marks[:5])).cycles == measured(trace).cycles


@pytest.mark.parametrize("at_us", [0, -5, 3_000_000, 1 << 61])
def test_marks_of_times_that_cannot_be_change_nothing(at_us):
    trace, _ = simulate(draw_scenario("0.01 mm, 10/s", 1_205), 1_205)
    forged = tuple(Mark("hold_told", at_us, number) for number in range(1, 9))
    assert measured(replace(trace, marks=forged)) == measured(trace)


def even(seconds, spans=((0, "mm", 0.01),)):
    """Return ten readings a second from second 100 on."""
    t_us = 100_000_000 + np.arange(10 * seconds, dtype=np.int64) * 100_000
    return Trace(t_us, np.arange(10 * seconds), tuple(UnitSpan(*span) for span in spans))


@pytest.mark.parametrize(
    ("last_s", "number", "left"),
    [
        (10.0, 6, 116),  # up to 11.5 s, that reading included
        (10.0, 5, 200),  # three cycles are asked for: six holds
        (10.0, 7, 116),
        (4.4, 6, 200),  # six holds of a second do not fit into 5.9 s
        (4.5, 6, 61),
        (30.0, 6, 200),
    ],
)
def test_where_the_work_ends_reading_by_reading(last_s, number, left):
    times_s = np.linspace(1.0, last_s, number)
    marks = tuple(Mark("hold_told", round((100 + t) * 1e6), 0) for t in times_s)
    others = (Mark("button", 101_000_000, 0),)
    cut = without_wait(replace(even(20), marks=others + marks), LIMITS)
    assert cut.t_us.tolist() == even(20).t_us[:left].tolist()
    assert cut.count.tolist() == list(range(left))


def test_a_unit_that_was_changed_after_the_work_is_not_in_it():
    marks = tuple(Mark("hold_told", round((101 + 1.8 * n) * 1e6), n) for n in range(6))
    spans = ((0, "mm", 0.01), (115, "in", 0.0127), (116, "mm", 0.01))
    cut = without_wait(replace(even(20, spans), marks=marks), LIMITS)
    assert len(cut) == 116
    assert [span.first for span in cut.spans] == [0, 115]
