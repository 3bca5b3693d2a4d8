from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockwire import guide
from rockwire.guide import Guide
from rockwire.units import (
    HALF_THOU,
    HUNDREDTH_MM,
    MILLIDEGREE_PER_SECOND,
    NEWTON_METRE,
    Scale,
)

SETTINGS = {"band_counts": 1, "hold_ms": 1000, "settle_ms": 300, "gap_ms": 250, "cycles": 2}
SPACING_US = 50_000


@pytest.fixture
def follower():
    return Guide(SETTINGS)


def feed(follower, counts, start_us=0, scale=HALF_THOU):
    """Feed counts and return the phases that were shown, in order, and the end time."""
    phases = []
    t_us = start_us
    for count in counts:
        follower.reading(t_us, count, scale)
        if not phases or phases[-1] != follower.phase:
            phases.append(follower.phase)
        t_us += SPACING_US
    return phases, t_us


def rock(low=0, high=10, times=4):
    return [*range(low, high, 2), *range(high, low, -2)] * times


def test_a_wheel_that_nobody_moved_is_no_hold(follower):
    phases, _ = feed(follower, [5] * 60)
    assert guide.HELD not in phases
    assert follower.count == 0


def test_rock_and_hold_to_done(follower):
    counts = []
    for level in (10, 0, 10, 0):
        counts += rock() + [level] * 34
    phases, _ = feed(follower, counts)
    assert follower.count == 4
    assert phases[-1] == guide.DONE
    held = phases.index(guide.HELD)
    assert phases[held - 2 : held + 1] == [guide.ROCKING, guide.STILL, guide.HELD]
    assert [(hold.low, hold.high) for hold in follower.holds] == [(10, 10), (0, 0)] * 2
    assert all(hold.end_us - hold.start_us >= 1_000_000 for hold in follower.holds)


def test_the_last_hold_is_not_done_before_the_end_of_the_readings_would_cut_into_it(follower):
    t_us = 0
    for level in (10, 0, 10):
        _, t_us = feed(follower, rock() + [level] * 34, t_us)
    _, t_us = feed(follower, rock(), t_us)
    phases, t_us = feed(follower, [0] * 28, t_us)  # 1.4 s
    assert (follower.count, phases[-1]) == (4, guide.STILL)
    assert feed(follower, [0] * 6, t_us)[0] == [guide.STILL, guide.DONE]
    # Whoever moves on earlier is not kept waiting.
    again = Guide(SETTINGS)
    for level in (10, 0, 10, 0):
        _, t_us = feed(again, rock() + [level] * 25, t_us)
    assert again.phase == guide.STILL
    assert feed(again, [4, 9, 4, 9], t_us)[0][-1] == guide.DONE


def at_times(follower, counts_and_times, after_us):
    """Feed (milliseconds, count) and return the phase after each."""
    phases = []
    for ms, count in counts_and_times:
        follower.reading(after_us + int(ms * 1000), count, HALF_THOU)
        phases.append(follower.phase)
    return phases


def test_the_times_of_the_settings_are_met_to_the_millisecond(follower):
    _, t_us = feed(follower, rock())
    rest = [(0, 10), (200, 10), (299.5, 10), (300, 10), (500, 10), (750, 10), (999.5, 10)]
    phases = at_times(follower, [*rest, (1000, 10), (1010, 10)], t_us)
    # Every reading is judged when the next one comes; 250 ms of silence are allowed.
    assert phases == [guide.ROCKING] * 4 + [guide.STILL] * 4 + [guide.HELD]
    assert at_times(follower, [(1260, 10)], t_us) == [guide.HELD]
    assert at_times(follower, [(1510.5, 10)], t_us) == [guide.ROCKING]


def test_a_wheel_that_moved_by_no_more_than_the_band_was_not_rocked(follower):
    feed(follower, [5, 6] * 30)
    assert follower.count == 0
    assert Guide(SETTINGS).scale == (0, 1, 0)


def test_extremes_begin_anew_with_another_unit(follower):
    _, t_us = feed(follower, rock())
    assert (follower.minimum, follower.maximum) == (0, 10)
    feed(follower, [100, 101], t_us, HUNDREDTH_MM)
    assert (follower.minimum, follower.maximum, follower.count) == (100, 101, 0)


def test_readings_of_torque_are_not_followed(follower):
    feed(follower, [1, 2, 3], scale=Scale(NEWTON_METRE, 1, 0))
    assert follower.minimum is None


def test_only_the_last_holds_are_kept(follower):
    for _ in range(guide.KEPT_HOLDS + 3):
        feed(
            follower,
            rock() + [10] * 30,
            follower.holds[-1].end_us + 100_000 if follower.holds else 0,
        )
    assert len(follower.holds) == guide.KEPT_HOLDS


TURNING = Scale(MILLIDEGREE_PER_SECOND, 10, 0)


def feed_both(follower, counts, rates_deg_s, start_us=0, batch=4):
    """Feed counts, and turning rates that come between them, in batches, by 0.2 s later or more."""
    waiting, phases, t_us = [], [], start_us
    for at, (count, rate) in enumerate(zip(counts, rates_deg_s, strict=True)):
        follower.reading(t_us, count, HALF_THOU)
        phases.append(follower.phase)
        waiting.append((t_us + SPACING_US // 2, rate * 100))
        if at % batch == batch - 1:
            for turned_us, value in waiting:
                follower.reading(turned_us, value, TURNING)
            waiting.clear()
        t_us += SPACING_US
    return phases, t_us


def to_and_fro(n, largest_deg_s=60):
    return [largest_deg_s * (1 if at % 10 < 5 else -1) for at in range(n)]


def test_rocking_that_only_the_motion_sensor_sees_is_no_hold(follower):
    _, t_us = feed_both(follower, rock(), to_and_fro(40))
    quiet = [10] * 60
    phases, t_us = feed_both(follower, quiet, to_and_fro(60), t_us)
    assert set(phases) == {guide.ROCKING}
    assert follower.count == 0
    # Its offset does not matter.
    phases, _ = feed_both(follower, quiet, [7] * 60, t_us)
    assert phases[-1] == guide.HELD
    assert follower.count == 1
    kept = follower.holds[-1]
    assert t_us - SPACING_US <= kept.start_us <= t_us + SPACING_US


def test_a_hold_that_late_batches_interrupt_is_one_hold(follower):
    _, t_us = feed_both(follower, rock(), to_and_fro(40), batch=7)
    phases, _ = feed_both(follower, [10] * 60, [7] * 60, t_us, batch=7)
    held = [phase == guide.HELD for phase in phases]
    assert held.count(True) > 7
    assert any(before and not now for before, now in pairwise(held))  # it was interrupted
    assert follower.count == 1


def test_a_sensor_that_stands_still_or_falls_silent_changes_nothing(follower):
    counts = (rock() + [10] * 30) * 2
    feed_both(follower, counts, [-3] * len(counts))
    alone = Guide(SETTINGS)
    feed(alone, counts)
    assert follower.count == alone.count == 2
    # The last that it said was that the wheel turned.
    _, t_us = feed_both(follower, rock(), to_and_fro(40), len(counts) * SPACING_US)
    feed(follower, [0] * 60, t_us)
    assert follower.count == 3


@given(
    st.lists(st.integers(-12, 12), min_size=3, max_size=150),
    st.lists(st.integers(-300, 300), min_size=150, max_size=150),
)
def test_a_sensor_never_makes_a_hold_that_the_indicator_does_not_show(counts, rates):
    with_sensor, alone = Guide(SETTINGS), Guide(SETTINGS)
    for at, count in enumerate(counts):
        with_sensor.reading(at * SPACING_US, rates[at] * 10, TURNING)
        for one in (with_sensor, alone):
            one.reading(at * SPACING_US, count, HALF_THOU)
        if with_sensor.phase == guide.HELD:
            assert alone.phase in (guide.HELD, guide.DONE)


@pytest.mark.parametrize(("swing_deg_s", "held"), [(30, 0), (6, 1)])
@pytest.mark.parametrize(
    ("scale", "one_deg_s"), [(TURNING, 100), (Scale(7, 1, 3), 1), (Scale(7, 1, -2), 100_000)]
)
def test_the_rate_is_understood_on_any_scale(follower, swing_deg_s, held, scale, one_deg_s):
    _, t_us = feed(follower, rock())
    for at in range(60):
        follower.reading(t_us, 10, HALF_THOU)
        rate = swing_deg_s if at % 10 < 5 else 0
        follower.reading(t_us, rate * one_deg_s, scale)
        t_us += SPACING_US
    assert follower.count == held
