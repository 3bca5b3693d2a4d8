"""Whoever walks to the computer after the last hold leaves the wheel standing: that is no work."""

from dataclasses import replace
from pathlib import Path

import pytest

from host.live.test_live import ROCK, ROCK_AND_HOLD, batches
from rockhold.capture.measured import measured_readings
from rockhold.capture.reader import Capture, read_capture
from rockhold.capture.work import worked_to_us
from rockhold.errors import CaptureFormatError
from rockhold.live.follow import Follower
from rockhold.live.work_end import WorkEnd
from rockhold.procedure.endplay import shipped_limits
from support import ROOT

SPACING_US = 72_000
SETTLED_US = len(ROCK_AND_HOLD) * SPACING_US - 25 * SPACING_US + 1_000_000


def notes_of(counts, goes_on=False):
    """Return what is written into the capture while these counts come."""
    written = []
    follower = Follower(shipped_limits())
    end = WorkEnd(follower)
    end.opened(written.append, goes_on)
    for message in batches(counts):
        follower.take(message)
        end.look(message.t_us[-1])
    return written


def test_a_wait_after_the_last_hold_is_noted_with_the_end_of_the_work():
    assert notes_of(ROCK_AND_HOLD) == []  # stopped at once: nothing was waited for
    (note,) = notes_of(ROCK_AND_HOLD + [0] * 200)
    assert note["note"] == "work_done"
    # A second of stillness makes the hold, and as much again and a half belongs to it.
    assert abs(note["board_us"] - (SETTLED_US + 1_500_000)) < 300_000


def test_another_cycle_after_a_wait_counts():
    more = [0] * 60 + ROCK + [6] * 25
    notes = [note["note"] for note in notes_of(ROCK_AND_HOLD + more)]
    assert notes == ["work_done", "work_goes_on"]
    notes = notes_of(ROCK_AND_HOLD + more + [6] * 100)
    assert [note["note"] for note in notes] == ["work_done", "work_goes_on", "work_done"]
    assert notes[2]["board_us"] > notes[0]["board_us"] + 4_000_000


def test_nothing_is_noted_of_work_that_is_not_complete():
    assert notes_of(ROCK_AND_HOLD[: -len(ROCK) - 25] + [6] * 300) == []


def test_what_was_noted_before_a_break_counts_no_more():
    assert notes_of([0] * 5, goes_on=True) == [{"note": "work_goes_on"}]


def noted(capture: Capture, *notes) -> Capture:
    rows = tuple((900 + at, note) for at, note in enumerate(notes))
    return replace(capture, others=capture.others + rows)


def test_a_plain_capture_is_measured_up_to_the_note():
    capture = read_capture(ROOT / "demo_captures" / "good.capture")
    whole, _ = measured_readings(capture)
    done_us = int(whole.t_us[100])
    done = {"note": "work_done", "board_us": done_us}
    cut, _ = measured_readings(noted(capture, done))
    assert len(cut) == 101
    again, _ = measured_readings(noted(capture, done, {"note": "work_goes_on"}))
    assert len(again) == len(whole)


@pytest.mark.parametrize("at_us", [-1, None, "5", True, 2.5])
def test_a_note_without_a_time_is_refused_with_its_line(at_us):
    capture = Capture(Path("a.capture"), {}, (), (), (), False, b"")
    bad = noted(capture, {"note": "work_done", "board_us": at_us})
    with pytest.raises(CaptureFormatError, match=r"a\.capture: the note on line 900 does not say"):
        worked_to_us(bad)
