"""The hold tracker: by itself, and equal to the vectorised form."""

import importlib.util
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rockhold.measure.quiet import middle_of_three, quiet_starts
from rockwire.hold import HELD, LOST, ROCKING, SETTLING, HoldTracker, middle_of

HOLD_US, SETTLE_US, GAP_US = 1_000_000, 300_000, 400_000


def events_of(t_us, count, band, hold_us=HOLD_US, settle_us=SETTLE_US, gap_us=GAP_US):
    tracker = HoldTracker(band, hold_us, settle_us, gap_us)
    fed = [tracker.feed(int(t), int(c)) for t, c in zip(t_us, count, strict=True)]
    return [(i, event) for i, event in enumerate(fed) if event]


def test_a_still_wheel_settles_and_is_held():
    t_us = np.arange(40) * 50_000
    got = events_of(t_us, [7] * 40, band=2)
    assert [event for _, event in got] == [SETTLING, HELD]
    # Reading 1 is the first to be judged; one second later is reading 21, judged when 22 comes.
    assert got[1][0] == 22


def test_a_rocked_wheel_is_never_held():
    t_us = np.arange(200) * 50_000
    count = np.round(10 * np.sin(2 * np.pi * 0.8 * t_us * 1e-6)).astype(int)
    assert all(event not in (HELD, LOST) for _, event in events_of(t_us, count, band=4))


def test_one_wild_reading_neither_ends_nor_makes_a_hold():
    t_us = np.arange(60) * 50_000
    count = [3] * 60
    count[35] = 999
    assert [e for _, e in events_of(t_us, count, band=1)] == [SETTLING, HELD]


def test_two_wild_readings_end_a_hold():
    t_us = np.arange(60) * 50_000
    count = [3] * 60
    count[35] = count[36] = 999
    assert LOST in [e for _, e in events_of(t_us, count, band=1)]


def test_a_steady_creep_is_no_hold():
    t_us = np.arange(200) * 50_000
    count = np.arange(200) // 2  # ten counts a second against a band of four
    assert all(event != HELD for _, event in events_of(t_us, count, band=4))


def test_silence_ends_a_hold():
    t_us = np.concatenate((np.arange(40) * 50_000, 5_000_000 + np.arange(5) * 50_000))
    assert events_of(t_us, [1] * 45, band=1)[-1] == (40, LOST)


def test_quiet_stretch_is_known():
    tracker = HoldTracker(2, HOLD_US, SETTLE_US, GAP_US)
    assert (tracker.low, tracker.high, tracker.start_us, tracker.end_us) == (0, 0, 0, 0)
    assert [tracker.feed(i * 100_000, count) for i, count in enumerate([50, 50, 10])] == [0, 0, 0]
    for i, count in enumerate([11, 12, 11, 11], start=3):
        tracker.feed(i * 100_000, count)
    assert (tracker.low, tracker.high, tracker.start_us) == (11, 11, 200_000)
    assert tracker.end_us == 500_000
    assert tracker.state == SETTLING


def test_band_must_not_be_negative():
    with pytest.raises(ValueError, match="band"):
        HoldTracker(-1, HOLD_US, SETTLE_US, GAP_US)


@pytest.mark.parametrize("rate_hz", [8, 14, 20, 50, 100])
def test_hold_time_does_not_depend_on_the_rate(rate_hz):
    t_us = (np.arange(int(3 * rate_hz)) * 1e6 / rate_hz).astype(int)
    held_at = next(i for i, e in events_of(t_us, [0] * len(t_us), band=1) if e == HELD)
    assert abs(t_us[held_at] - HOLD_US) <= 3e6 / rate_hz


def test_silence_while_it_settles_leads_back_to_rocking():
    t_us = np.concatenate((np.arange(10) * 50_000, 5_000_000 + np.arange(5) * 50_000))
    assert events_of(t_us, [1] * 15, band=1) == [(8, SETTLING), (10, ROCKING)]


def test_what_was_seen_before_a_silence_never_counts_again():
    tracker = HoldTracker(4, HOLD_US, SETTLE_US, GAP_US)
    for i in range(10):
        tracker.feed(i * 50_000, 2)
    # 2 lies between 0 and 7 but was not shown since the silence; the stretch begins with the 4.
    for i, count in enumerate([0, 0, 4, 4, 7, 7, 7]):
        tracker.feed(5_000_000 + i * 50_000, count)
    assert (tracker.start_us, tracker.low, tracker.high) == (5_100_000, 4, 7)


def test_a_silence_as_long_as_a_gap_may_be_is_none():
    t_us = np.concatenate((np.arange(40) * 50_000, 39 * 50_000 + GAP_US + np.arange(5) * 50_000))
    assert [event for _, event in events_of(t_us, [1] * 45, band=1)] == [SETTLING, HELD]


# Times between readings as gauges have them, now and then with a gap; so holds do come about.
STEPS_US = st.sampled_from([40_000, 90_000, 90_000, 150_000, 150_000, 150_000, GAP_US, 450_000])
ROWS = st.lists(st.tuples(STEPS_US, st.integers(-6, 6)), min_size=1, max_size=80)


def readings_of(rows, walk):
    t_us = np.cumsum([dt for dt, _ in rows])
    count = np.array([c for _, c in rows])
    return t_us, np.cumsum(count // 3) if walk else count


@settings(max_examples=100, deadline=None)
@given(ROWS, st.integers(0, 6), st.booleans())
def test_the_quiet_stretch_against_a_plain_search(rows, band, walk):
    # By the definition alone: the longest stretch up to the newest judged reading within the band.
    t_us, count = readings_of(rows, walk)
    tracker = HoldTracker(band, HOLD_US, SETTLE_US, GAP_US)
    first = 0
    for i in range(len(rows)):
        if i and t_us[i] - t_us[i - 1] > GAP_US:
            first = i
        tracker.feed(int(t_us[i]), int(count[i]))
        if i < first + 2:
            continue
        judged = middle_of_three(count[first : i + 1])[1:-1]
        start = len(judged) - 1
        while start and np.ptp(judged[start - 1 :]) <= band:
            start -= 1
        assert tracker.start_us == t_us[first + 1 + start]
        assert tracker.end_us == t_us[i - 1]
        assert (tracker.low, tracker.high) == (judged[start:].min(), judged[start:].max())


@settings(max_examples=100, deadline=None)
@given(ROWS, st.integers(0, 6), st.booleans())
def test_vectorised_form_is_equal(rows, band, walk):
    t_us, count = readings_of(rows, walk)
    tracker = HoldTracker(band, HOLD_US, SETTLE_US, gap_us=int(t_us[-1]))
    judged = middle_of_three(count)[1:-1]
    at_once = t_us[1:-1][quiet_starts(judged, band)]
    for i in range(len(rows)):
        tracker.feed(int(t_us[i]), int(count[i]))
        if i >= 2:
            assert tracker.start_us == at_once[i - 2]


@settings(max_examples=100, deadline=None)
@given(ROWS, st.integers(0, 6), st.booleans())
def test_the_events_follow_from_the_length_of_the_quiet_stretch(rows, band, walk):
    # The states by their definition: settling after settle_us, held after hold_us, lost at the end.
    t_us, count = readings_of(rows, walk)
    tracker = HoldTracker(band, HOLD_US, SETTLE_US, GAP_US)
    before, fed = ROCKING, 0
    for i in range(len(rows)):
        silent = i > 0 and t_us[i] - t_us[i - 1] > GAP_US
        fed = 1 if silent else fed + 1
        event = tracker.feed(int(t_us[i]), int(count[i]))
        after = ROCKING if silent else before
        if fed >= 3:
            quiet_us = tracker.end_us - tracker.start_us
            after = HELD if quiet_us >= HOLD_US else SETTLING if quiet_us >= SETTLE_US else ROCKING
        assert tracker.state == after
        assert event == (0 if after == before else LOST if before == HELD else after)
        before = after


@given(st.lists(st.integers(-9, 9), max_size=60), st.integers(0, 8))
def test_quiet_starts_against_plain_search(values, band):
    count = np.array(values)
    for end, start in enumerate(quiet_starts(count, band).tolist()):
        part = count[start : end + 1]
        assert part.max() - part.min() <= band
        if start:
            longer = count[start - 1 : end + 1]
            assert longer.max() - longer.min() > band


@given(st.integers(), st.integers(), st.integers())
def test_middle_of(a, b, c):
    assert middle_of(a, b, c) == sorted((a, b, c))[1]


def test_middle_of_three_keeps_the_ends():
    assert middle_of_three(np.array([5, 1, 9, 2])).tolist() == [5, 5, 2, 2]
    for few in ([], [5], [5, 1]):
        assert middle_of_three(np.array(few)).tolist() == few


def micropython():
    """Return the command of the Unix port of MicroPython, or skip."""
    binary = os.environ.get("ROCKHOLD_MICROPYTHON")
    if binary:
        return [binary]
    if importlib.util.find_spec("micropython") is None:
        pytest.skip("no MicroPython here; set ROCKHOLD_MICROPYTHON to a Unix-port binary")
    return [sys.executable, "-m", "micropython"]


def test_the_boards_interpreter_agrees_in_its_small_heap(tmp_path):
    source = Path(__file__).parents[2] / "protocol"
    script = tmp_path / "run.py"
    script.write_text(
        "import sys, gc\n"
        f"sys.path.insert(0, {str(source)!r})\n"
        "from rockwire.hold import HoldTracker\n"
        "tracker = HoldTracker(6, 1000000, 300000, 400000)\n"
        "for i in range(200):\n"
        "    tracker.feed(i * 20000, (i * 37) % 50)\n"
        "gc.collect()\n"
        "before = gc.mem_alloc()\n"
        "for i in range(200, 4000):\n"
        "    event = tracker.feed(i * 20000, i * 7919 % 5 if i // 200 % 2 else i * 37 % 50)\n"
        "    if event:\n"
        "        print(i, event)\n"
        "gc.collect()\n"
        "print('grown', gc.mem_alloc() - before)\n"
    )
    command = [*micropython(), "-X", "heapsize=160k", str(script)]
    run = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert run.returncode == 0, run.stdout + run.stderr
    *lines, grown = run.stdout.splitlines()
    tracker = HoldTracker(6, HOLD_US, SETTLE_US, GAP_US)
    here = []
    for i in range(4000):
        count = (i * 7919 % 5 if i // 200 % 2 else i * 37 % 50) if i >= 200 else i * 37 % 50
        event = tracker.feed(i * 20000, count)
        if event and i >= 200:
            here.append(f"{i} {event}")
    assert lines == here
    # A few whole numbers beyond 31 bits live on the heap; none is left behind per reading.
    assert int(grown.split()[1]) < 2048
