import pytest

from rockwire import guide
from rockwire.guide import Guide
from rockwire.units import HALF_THOU, HUNDREDTH_MM, NEWTON_METRE, Scale

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
        counts += rock() + [level] * 30
    phases, _ = feed(follower, counts)
    assert follower.count == 4
    assert phases[-1] == guide.DONE
    held = phases.index(guide.HELD)
    assert phases[held - 2 : held + 1] == [guide.ROCKING, guide.STILL, guide.HELD]
    assert [(hold.low, hold.high) for hold in follower.holds] == [(10, 10), (0, 0)] * 2
    assert all(hold.end_us - hold.start_us >= 1_000_000 for hold in follower.holds)


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
