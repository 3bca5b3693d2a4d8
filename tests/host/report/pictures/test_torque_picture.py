"""The picture of a job's torque: time from its own beginning, no number over another."""

import re

from rockhold.capture.reader import read_capture
from rockhold.capture.torque import torque_trace_of
from rockhold.capture.trace import measured_trace
from rockhold.report.pictures.svg import text_of
from rockhold.report.pictures.torque_picture import NARROW, WIDE, torque_picture
from rockhold.report.units import US
from support import ROOT


def test_numbers_keep_apart_and_seconds_begin_at_nought():
    capture = read_capture(ROOT / "demo_captures" / "whole-job.capture")
    torque, trace = torque_trace_of(capture), measured_trace(capture)
    for size in (WIDE, NARROW):
        svg = text_of(torque_picture(torque, US, trace, size, "t"))
        assert svg.count("<circle") == 12
        assert not re.search(r">-\d", svg)  # no time before the first pull
        tags = [tag for tag in re.findall(r"<text[^>]*>", svg) if "bold" in tag]
        bold = [tuple(float(re.search(rf'\b{c}="([\d.]+)"', tag)[1]) for c in "xy") for tag in tags]
        assert bold
        for at, (x, y) in enumerate(bold):
            assert all(abs(x - a) >= 28 or abs(y - b) >= 14 for a, b in bold[:at])
