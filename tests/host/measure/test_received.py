"""What the readings show as they came: silence, units, a large count, a tool overdue."""

from dataclasses import replace

import numpy as np
import pytest

from host.measure.jobs import LIMITS, NO_CERTIFICATE
from rockhold.measure.coordinate import coordinate
from rockhold.measure.findings import TEXTS
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.received import as_received
from rockhold.measure.trace import Trace, UnitSpan

FINE_SPAN = UnitSpan(0, "mm", 0.001)


def trace_of(t_s, *spans):
    t_us = np.rint(1e6 * np.asarray(t_s)).astype(np.int64)
    return Trace(t_us, np.zeros(len(t_us), dtype=np.int64), spans or (FINE_SPAN,))


def found(trace, limits=LIMITS, gauge=NO_CERTIFICATE):
    return [
        (f.code, pytest.approx(f.at_s))
        for f in as_received(trace, coordinate(trace), limits, gauge)
    ]


def test_nothing_where_nothing_is_wrong():
    assert found(trace_of(2 + 0.05 * np.arange(60))) == []


@pytest.mark.parametrize(
    ("spacing_s", "gap_s", "silent_s", "told"),
    [
        (0.05, 0.5, 0.49, False),
        (0.05, 0.5, 0.51, True),
        (0.05, 0.1, 0.16, False),  # less than 3.5 usual spacings
        (0.05, 0.1, 0.18, True),
        (0.2, 0.5, 0.65, False),
        (0.2, 0.5, 0.75, True),
    ],
)
def test_silence_is_longer_than_the_procedures_and_than_the_gauges_own(
    spacing_s, gap_s, silent_s, told
):
    t_s = 2 + spacing_s * np.arange(60)
    t_s[20:] += silent_s - spacing_s
    t_s[40:] += silent_s - spacing_s
    trace = trace_of(t_s)
    limits = replace(LIMITS, gap_s=gap_s)
    # Each at the last reading before it.
    assert found(trace, limits) == ([("data_gap", t_s[19]), ("data_gap", t_s[39])] if told else [])
    if told:
        first = as_received(trace, coordinate(trace), limits, NO_CERTIFICATE)[0]
        assert first.text == f"{TEXTS['data_gap']} Silent for {silent_s:.2f} s."


def test_another_unit_from_its_first_reading_on():
    t_s = 2 + 0.05 * np.arange(60)
    inch, again = UnitSpan(20, "in", 0.00127), UnitSpan(45, "mm", 0.001)
    assert found(trace_of(t_s, FINE_SPAN, inch, again)) == [
        ("unit_changed", 3.0),
        ("unit_changed", 4.25),
    ]
    # Of a unit that no reading followed, the last reading tells.
    assert found(trace_of(t_s, FINE_SPAN, UnitSpan(60, "in", 0.00127))) == [
        ("unit_changed", t_s[-1])
    ]


def test_a_count_is_large_from_a_fifth_of_the_band_on():
    t_s = 2 + 0.05 * np.arange(60)
    limits = replace(LIMITS, band_low_mm=0.02, band_high_mm=0.12)
    assert found(trace_of(t_s, UnitSpan(0, "mm", 0.0199)), limits) == []
    large = UnitSpan(0, "mm", 0.0201)
    assert found(trace_of(t_s, large), limits) == [("coarse_gauge", 2.0)]
    # The coarsest unit tells, wherever it was shown.
    later = trace_of(t_s, FINE_SPAN, replace(large, first=30))
    assert found(later, limits) == [("unit_changed", 3.5), ("coarse_gauge", 2.0)]


def test_a_tool_overdue_is_named_where_its_name_is_known():
    trace = trace_of(2 + 0.05 * np.arange(60))

    def text(name):
        gauge = GaugeFacts(overdue=True, name=name)
        assert found(trace, gauge=gauge) == [("tool_overdue", 2.0)]
        return as_received(trace, coordinate(trace), LIMITS, gauge)[0].text

    assert text("") == TEXTS["tool_overdue"]
    assert text("indicator 7") == TEXTS["tool_overdue"] + " It is indicator 7."
    assert found(trace, gauge=GaugeFacts(name="indicator 7")) == []
