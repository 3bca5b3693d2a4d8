from hypothesis import given
from hypothesis import strategies as st

from rockboard.clock import WideClock


@given(st.integers(0, (1 << 30) - 1), st.lists(st.integers(0, (1 << 29) - 1), max_size=40))
def test_time_goes_on_through_every_wrap(start, steps):
    true = [start]
    clock = WideClock(lambda: true[0] % (1 << 30))
    for step in steps:
        true[0] += step
        assert clock.now_us() == true[0] - start


def test_a_stamp_from_before_the_last_look_keeps_its_own_time():
    ticks = [(1 << 30) - 100]
    clock = WideClock(lambda: ticks[0])
    ticks[0] = 50  # wrapped, 150 µs later
    assert clock.now_us() == 150
    assert clock.widen((1 << 30) - 60) == 40
    assert clock.now_us() == 150
