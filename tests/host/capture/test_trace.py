"""From messages to the readings of one source: units, windows, marks, and what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockhold.capture.trace import LARGEST_COUNT, LONGEST_US, step_mm, trace_from
from rockhold.errors import CaptureFormatError, TooFewSamplesError
from rockwire import messages as m
from rockwire.units import INCH, MM, NEWTON_METRE, Scale

HUNDREDTH_MM = Scale(MM, 1, -2)
HALF_THOU = Scale(INCH, 5, -4)


def batch(times, counts, scale=HUNDREDTH_MM, source=0):
    return m.Readings(source, scale, tuple(times), tuple(counts))


@pytest.mark.parametrize(
    ("scale", "length_mm"),
    [
        # Exact by the definition of the inch, 25.4 mm.
        (Scale(INCH, 1, -3), 0.0254),
        (Scale(INCH, 5, -3), 0.127),
        (Scale(INCH, 1, -4), 0.00254),
        (Scale(INCH, 5, -4), 0.0127),
        (Scale(INCH, 5, -5), 0.00127),
        (Scale(INCH, 1, 0), 25.4),
        (Scale(MM, 1, -3), 0.001),
        (Scale(MM, 2, 1), 20.0),
    ],
)
def test_a_count_in_millimetres_to_the_last_digit(scale, length_mm):
    assert step_mm(scale) == length_mm


@given(st.lists(st.tuples(st.integers(0, 10**6), st.integers(-9999, 9999)), min_size=1))
def test_however_the_readings_are_cut_into_batches_the_trace_is_the_same(rows):
    times = np.cumsum([step for step, _ in rows]).tolist()
    counts = [count for _, count in rows]
    whole = trace_from([batch(times, counts)], "x")
    cut = trace_from([batch([t], [c]) for t, c in zip(times, counts, strict=True)], "x")
    for trace in (whole, cut):
        assert trace.t_us.tolist() == times
        assert trace.count.tolist() == counts
        assert [(span.first, span.unit, span.step_mm) for span in trace.spans] == [(0, "mm", 0.01)]


def test_the_unit_may_change_and_each_stretch_keeps_its_own():
    messages = [batch([1, 2], [100, 101]), batch([3], [80], HALF_THOU), batch([4], [99])]
    trace = trace_from(messages, "x")
    assert [(span.first, span.unit) for span in trace.spans] == [(0, "mm"), (2, "in"), (3, "mm")]
    np.testing.assert_allclose(trace.travel_mm, [1.0, 1.01, 80 * 0.0127, 0.99], rtol=1e-15)


def test_a_window_takes_both_its_ends_and_the_marks_inside():
    messages = [
        m.Event(1, 0, 15, 0),
        batch([10, 20, 30, 40], [1, 2, 3, 4]),
        m.Event(1, m.ALL_SOURCES, 25, 7),
        m.Dropped(0, 3, 26, 28),
        m.Event(1, 1, 27, 0),
        m.Event(250, 0, 30, 0),
        batch([50], [5], HALF_THOU),
    ]
    trace = trace_from(messages, "x", window_us=(20, 30))
    assert trace.t_us.tolist() == [20, 30]
    assert [(mark.t_us, mark.value) for mark in trace.marks] == [(25, 7), (26, 3), (30, 0)]
    assert [mark.code for mark in trace.marks][1:] == ["readings_dropped", "event_250"]
    assert len(trace.spans) == 1  # the inch came after the window


def test_other_sources_are_not_the_indicator():
    messages = [batch([1], [7], source=1), batch([2], [8])]
    assert trace_from(messages, "x").count.tolist() == [8]
    assert trace_from(messages, "x", source=1).count.tolist() == [7]
    with pytest.raises(TooFewSamplesError, match="x holds no readings of the indicator"):
        trace_from(messages[:1], "x")


@pytest.mark.parametrize(
    ("messages", "words"),
    [
        ([batch([1], [LARGEST_COUNT + 1])], "no gauge can show"),
        ([batch([1], [-LARGEST_COUNT - 1])], "no gauge can show"),
        ([batch([0, LONGEST_US + 1], [1, 1])], "more than a day"),
        ([batch([(1 << 62) + 1], [1])], "more than a day"),
        ([batch([5], [1]), batch([4], [1])], "go back in time"),
        ([batch([1], [1], Scale(NEWTON_METRE, 1, -2))], "not a length"),
        ([batch([1], [1], Scale(99, 1, -2))], r"\? is not a length"),
        ([batch([1], [1]), batch([2], [1], Scale(MM, 11, 0))], "no gauge has side by side"),
    ],
)
def test_what_no_gauge_can_send_is_refused(messages, words):
    with pytest.raises(CaptureFormatError, match=words):
        trace_from(messages, "x")


def test_the_bounds_themselves_are_allowed():
    trace = trace_from([batch([0, 0, LONGEST_US], [LARGEST_COUNT, -LARGEST_COUNT, 0])], "x")
    assert len(trace) == 3
    assert len(trace_from([batch([1], [1]), batch([2], [1], Scale(MM, 10, 0))], "x")) == 2
