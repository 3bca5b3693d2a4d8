"""Overdue on the day of the capture, whatever day it is today."""

from datetime import date
from pathlib import Path

import pytest

from rockhold.capture.reader import Capture
from rockhold.capture.tooling import called, is_overdue, overdue_tools


def capture(opened_utc, *tools):
    header = {"opened_utc": opened_utc, "tools": list(tools)}
    return Capture(Path("x"), header, (), (), (), False, 0)


WRENCH = {"id": "W7", "kind": "torque tool", "serial": "44", "due_on": "2026-03-02"}


def test_the_day_of_the_capture_decides():
    assert overdue_tools(capture("2026-03-02T23:59:59Z", WRENCH)) == ()
    assert overdue_tools(capture("2026-03-03T00:00:01Z", WRENCH)) == ("W7 (serial 44)",)


@pytest.mark.parametrize(
    "tool",
    [5, None, {}, {"due_on": 7}, {"due_on": "soon"}, {"cycles": "many"}, {"kind": []}],
)
def test_a_header_of_anybody_is_read_without_harm(tool):
    assert overdue_tools(capture("2026-03-03T00:00:01Z", tool)) == ()
    assert overdue_tools(capture(None, WRENCH)) == ()
    assert overdue_tools(Capture(Path("x"), {"tools": 5}, (), (), (), False, 0)) == ()


def test_what_a_terminal_would_obey_is_not_passed_on():
    assert "\x1b" not in called({"id": "W\x1b[2J"})
    assert is_overdue({"overdue": True}, None)
    assert is_overdue({"kind": "transducer", "cycles": 5001}, date(2026, 1, 1))
