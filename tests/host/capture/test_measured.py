"""What counts of a capture: the indicator's readings and the motion sensor's of the same time."""

import copy
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from rockhold.capture.measured import measured_readings, turning_from
from rockhold.capture.reader import read_capture
from rockhold.errors import CaptureFormatError
from rockhold.evidence.result import gauge_of, limits_of, measure_capture
from rockhold.measure.measure import measure_trace
from rockwire import messages as m
from rockwire.units import INCH, MILLI_G, MILLIDEGREE_PER_SECOND, Scale
from support import ROOT

RATE = Scale(MILLIDEGREE_PER_SECOND, 10, 0)
DEMO = ROOT / "demo_captures"


def test_a_recorded_job_is_judged_by_what_its_sensor_saw():
    capture = read_capture(DEMO / "rocked-on.capture")
    trace, turning = measured_readings(capture)
    assert turning is not None
    assert turning.fastest_deg_s(0, 1000) > 20
    alone = measure_trace(trace, limits_of(capture), gauge_of(capture))
    assert alone.verdict == "accept"  # the readings alone do not show it
    result = measure_capture(capture)
    assert result.verdict is None
    assert {found.code for found in result.findings} == {"no_hold"}


def test_a_capture_without_a_sensor_has_no_turning():
    _, turning = measured_readings(read_capture(DEMO / "good.capture"))
    assert turning is None


def noted(capture, noted_us):
    """Return the capture with another time of the note, without the seal that would forbid it."""
    others = [(line, copy.deepcopy(value)) for line, value in capture.others]
    for _, value in others:
        if value.get("kind") == "end_play" and value["outcome"] != "begun":
            value["values"]["free_stop_us"] = noted_us
    return replace(capture, others=tuple(others))


def test_the_noted_free_stop_is_read_from_the_readings_of_its_time():
    capture = read_capture(DEMO / "whole-job.capture")
    trace, _ = measured_readings(capture)
    assert trace.free_stop_mm == 0.0  # and the plunger was then pushed in by 0.8 mm
    assert trace.travel_mm.min() == pytest.approx(0.8, abs=0.1)
    assert measured_readings(noted(capture, None))[0].free_stop_mm is None
    assert measured_readings(noted(capture, 0))[0].free_stop_mm is None  # nothing was heard yet


@pytest.mark.parametrize("forged", [-1, True, "1", 1.5, 1 << 70])
def test_a_note_at_no_time_is_refused_with_its_line(forged):
    capture = read_capture(DEMO / "whole-job.capture")
    with pytest.raises(CaptureFormatError, match=r"step on line [0-9]+ does not say when the plun"):
        measured_readings(noted(capture, forged))


def readings(source, t_us, counts, scale=RATE):
    return m.Readings(source, scale, tuple(t_us), tuple(counts))


def test_only_the_first_sensor_counts_and_only_in_the_window():
    times = range(0, 400_000, 20_000)
    messages = [
        None,
        readings(0, times, [5] * 20, Scale(INCH, 5, -4)),
        readings(2, times, [900] * 20, Scale(MILLI_G, 1, 0)),
        readings(1, times, range(0, 40_000, 2_000)),
        readings(3, times, [7] * 20),
    ]
    turning = turning_from(messages, "here", (100_000, 300_000))
    assert turning.t_s.tolist() == pytest.approx(np.arange(0.1, 0.301, 0.02))
    assert (turning.rate_deg_s + turning.bias_deg_s)[0] == pytest.approx(100)
    # A forged window says nothing, and does no harm.
    assert turning_from(messages, "here", (1 << 90, 1 << 100)) is None
    assert turning_from(messages[:3], "here") is None


def test_a_sensor_whose_time_goes_back_is_refused_by_name():
    messages = [readings(1, (40_000, 20_000), (1, 2))]
    with pytest.raises(CaptureFormatError, match=r"^a\.capture holds readings that go back"):
        turning_from(messages, str(Path("a.capture")))
