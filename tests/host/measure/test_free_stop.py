"""The noted free stop: what it shows later, and what it says of the work.

Common practice, no source: the plunger needs a little preload; at its free stop it cannot follow.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from rockhold.measure.coordinate import coordinate
from rockhold.measure.free_stop import SILENT_S, preload, stop_shown
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.trace import Trace, UnitSpan
from rockhold.procedure.endplay import shipped_limits
from rockhold.simulator.draw import GAUGES, draw_scenario
from rockhold.simulator.scenario import Misfortune
from rockhold.simulator.simulate import simulate

STEP_MM = 0.01
LIMITS = shipped_limits()
COARSE = [name for name in GAUGES if "0.01 mm" in name or "0.0005 in" in name]
HUNG = [0] * 10
NOTED_US = 900_000  # with the last of HUNG
IN = [20, 45, 70, 80, 80, 80]


def trace_of(counts, spacing_us=100_000, spans=((0, "mm", STEP_MM),)):
    t_us = np.arange(len(counts), dtype=np.int64) * spacing_us
    return Trace(t_us, np.array(counts, dtype=np.int64), tuple(UnitSpan(*span) for span in spans))


@pytest.mark.parametrize(
    ("counts", "shown_mm"),
    [
        (HUNG + IN, 0.0),
        ([7, 7, 8, 7, 7, 7, 8, 7, 7, 7, *IN], 0.07),  # between two counts
        (HUNG + [-c for c in IN], 0.0),  # a gauge that counts the other way
        ([*HUNG, *IN, 0, 0, 0, 3], -0.8),  # zero pressed when the base was set
        ([51] * 10 + [0, 0, 0, *IN], 0.0),  # zero pressed while it hung, after the note
        ([*HUNG, *IN, 0, 0, 0, -12, -12, -12], -0.8),  # and then drawn back a little
        ([*HUNG, 80, 43, 0, 25, 60, 80], 0.0),  # back to the stop in a move: no zero pressed
        ([0] * 9 + [3] + IN, None),  # not still when it was noted
        ([*HUNG, 30, 60, -5, -30, -60, -60], None),  # further out than "free": it was none
        (HUNG, 0.0),
    ],
)
def test_what_the_gauge_shows_later_when_its_plunger_hangs_free(counts, shown_mm):
    shown = stop_shown(trace_of(counts), NOTED_US)
    assert shown == (None if shown_mm is None else pytest.approx(shown_mm, abs=1e-9))


def test_three_readings_are_too_few_to_say_that_it_hung():
    assert stop_shown(trace_of(HUNG + IN), 300_000) == 0.0
    assert stop_shown(trace_of(HUNG + IN), 299_999) is None


def test_a_gauge_that_was_off_or_changed_its_unit_since_is_not_believed():
    trace = trace_of(HUNG + IN)
    off_us = round(SILENT_S * 1e6) + 1
    late = np.concatenate((trace.t_us[:12], trace.t_us[12:] + off_us))
    assert stop_shown(replace(trace, t_us=late), NOTED_US) is None
    assert stop_shown(replace(trace, t_us=late - np.where(late > 2e6, off_us, 0)), NOTED_US) == 0.0
    changed = trace_of(HUNG + IN, spans=((0, "mm", STEP_MM), (13, "in", 0.0127)))
    assert stop_shown(changed, NOTED_US) is None


def job(gauge, seed, kind=""):
    """Return a job whose plunger comes to its stop from the first rock on, and where that is."""
    scenario = draw_scenario(gauge, seed)
    person = replace(scenario.technician, handling=False)
    bad = (Misfortune(kind, 0.0),) if kind else ()
    trace, truth = simulate(replace(scenario, technician=person, misfortunes=bad), seed)
    begun_s = truth.holds[0].start_s
    stop = int(trace.count[trace.t_s >= begun_s].min())
    return trace, truth, stop * trace.spans[0].step_mm


@pytest.mark.parametrize("gauge", COARSE)
@pytest.mark.parametrize("kind", ["contact_lost", "low_preload"])
def test_a_coarse_gauge_at_its_stop_from_the_beginning_is_told_by_the_note(gauge, kind):
    alone, noted = set(), set()
    for seed in range(12):
        trace, _, stop_mm = job(gauge, seed, kind)
        for results, known in ((alone, None), (noted, stop_mm)):
            result = measure_trace(replace(trace, free_stop_mm=known), LIMITS, GaugeFacts())
            codes = {finding.code for finding in result.findings}
            results.add((seed, "contact_lost" in codes, result.verdict))
    assert all(found and verdict != "accept" for _, found, verdict in noted)
    # Without the note the readings do not tell: what it is there for.
    assert sum(found for _, found, _ in alone) <= 6


@pytest.mark.parametrize("gauge", GAUGES)
@pytest.mark.parametrize("turned_round", [False, True])
def test_how_far_the_plunger_was_pushed_in_is_told_where_it_is_too_little(gauge, turned_round):
    sign = -1 if turned_round else 1
    for seed, given_mm, told in ((3, 0.05, True), (3, 0.15, False), (4, 0.05, True), (4, 2, False)):
        trace, _, outermost_mm = job(gauge, seed)
        stop_mm = sign * (outermost_mm - given_mm)
        turned = replace(trace, count=sign * trace.count, free_stop_mm=stop_mm)
        result = measure_trace(turned, LIMITS, GaugeFacts())
        found = [finding for finding in result.findings if finding.code == "low_preload"]
        assert bool(found) is told, (seed, given_mm)
        assert "contact_lost" not in {finding.code for finding in result.findings}
        if told:
            said_mm = float(found[0].text.split("It was ")[1].split(" mm")[0])
            # A hold's outermost reading; the readings between the holds go a little further.
            assert given_mm - 0.001 <= said_mm <= given_mm + 0.05


def test_a_zero_pressed_after_the_note_and_before_the_first_hold_is_counted_in():
    trace, truth, outermost_mm = job("0.01 mm, 10/s", 5)
    stop_mm = outermost_mm - 0.5
    still = int(np.searchsorted(trace.t_s, 0.4))
    rest = np.where(np.arange(len(trace)) < 2 * still, trace.count[still], trace.count)
    pressed = np.where(np.arange(len(trace)) >= still, rest - rest[still], rest)
    zeroed = replace(trace, count=pressed, free_stop_mm=stop_mm)
    result = measure_trace(zeroed, LIMITS, GaugeFacts())
    codes = {finding.code for finding in result.findings}
    assert "contact_lost" not in codes
    assert "low_preload" not in codes
    assert abs(result.end_play_mm - truth.end_play_mm) < 0.02


def test_a_note_that_was_none_leaves_the_readings_to_tell():
    trace, _, outermost_mm = job("0.00005 in, 20/s", 6)
    alone = measure_trace(trace, LIMITS, GaugeFacts())
    between = replace(trace, free_stop_mm=outermost_mm + 0.04)
    assert measure_trace(between, LIMITS, GaugeFacts()) == alone


@pytest.mark.parametrize(
    ("counts", "shown_mm"),
    [
        ([9] * 10 + [0] * 5, 0.09),  # less than a tenth of a millimetre: it moved
        ([10] * 10 + [0] * 5, 0.0),  # as much: pressed
        ([7, 8, 7, 8, 7, 7, 8, 8, 8, 8, *IN], 0.08),
        ([7, 8, 9, 8, 8, 8, 8, 8, 8, 8, *IN], None),  # three counts are no stillness
        ([51, 51, 0] + [0] * 8 + IN, None),  # the press comes before the note
    ],
)
def test_the_bounds_of_what_is_still_and_what_a_press(counts, shown_mm):
    shown = stop_shown(trace_of(counts), NOTED_US)
    assert shown == (None if shown_mm is None else pytest.approx(shown_mm, abs=1e-9))


def held(counts, first=5):
    """Return readings at 10/s from second 2 on, and a choice whose holds span all but `first`."""
    axis = coordinate(trace_of([90] * first + counts))
    axis = replace(axis, t_s=axis.t_s + 2.0)
    ends = (first, first), (0, len(axis.count))
    holds = [SimpleNamespace(first=a, end=b, rocked=True) for a, b in ends]
    return axis, SimpleNamespace(holds=tuple(holds))


def test_what_comes_before_the_first_rocking_is_still_the_setting_up():
    axis, choice = held([-30] * 5 + [30] * 8 + [0] * 5 + [30] * 8, 0)
    assert preload(axis, choice, 0.0, LIMITS) is None  # readings on both sides of it
    opening = SimpleNamespace(first=0, end=5, rocked=False)
    later = SimpleNamespace(first=5, end=len(axis.count), rocked=True)
    told = preload(axis, SimpleNamespace(holds=(opening, later)), 0.0, LIMITS)
    assert [finding.code for finding in told] == ["contact_lost"]


@pytest.mark.parametrize(
    ("counts", "code", "at_s", "words"),
    [
        ([30] * 8 + [1] * 3 + [30] * 8, "contact_lost", 3.3, ""),  # three readings: 0.3 s
        ([30] * 8 + [1] * 2 + [30] * 8, "low_preload", 3.3, "It was 0.010 mm."),
        ([30] * 8 + [1] + [30] * 8, None, None, ""),  # a single wild one
        ([30] * 8 + [2] * 3 + [30] * 8, "low_preload", 3.3, "It was 0.020 mm."),
        ([-30] * 8 + [-9] * 3 + [-30] * 8, "low_preload", 3.3, "It was 0.090 mm."),
        ([30] * 8 + [10] * 3 + [30] * 8, None, None, ""),  # 0.1 mm, as asked
        ([90] * 4 + [0] * 4 + [30] * 8, "contact_lost", 2.9, ""),  # moved there while it is held
    ],
)
def test_what_is_told_of_the_preload_reading_by_reading(counts, code, at_s, words):
    axis, choice = held(counts)
    found = preload(axis, choice, 0.0, LIMITS)
    assert [finding.code for finding in found] == ([code] if code else [])
    if code:
        assert found[0].at_s == pytest.approx(at_s)
        assert found[0].text.endswith(words)


def test_a_zero_pressed_before_the_holds_moves_the_stop_by_as_much():
    # 90 at first, zero is pressed there: the stop, once at 0, is at -90 from then on.
    axis, choice = held([0] * 6 + [15] * 6, first=5)
    choice.holds[0].first = 9
    assert preload(axis, choice, 0.0, LIMITS) == []
    (found,) = preload(axis, choice, 0.88, LIMITS)
    assert found.text.endswith("It was 0.020 mm.")
