"""How far the wheel turned, on simulated hubs with the offset that such sensors have."""

import numpy as np
import pytest

from rockhold.measure.hub.turning import Turning
from rockhold.simulator.spin import turns


@pytest.mark.parametrize("bias_deg_s", [-15.0, 0.0, 8.0])
def test_three_turns_by_hand_are_three_turns(bias_deg_s):
    parts = ((5, 9, 1.0), (14, 17, 1.0), (22, 30, 1.0))
    motion = turns(parts, 40, seed=1, bias_deg_s=bias_deg_s)
    turning = Turning.of(motion.t_us, motion.turn_deg_s)
    assert turning.bias_deg_s == pytest.approx(bias_deg_s, abs=0.1)
    for start_s, end_s, revolutions in parts:
        seen = turning.turned_rev(int((start_s - 1) * 1e6), int((end_s + 1) * 1e6))
        assert seen == pytest.approx(revolutions, abs=0.03)
    assert turning.turned_rev(0, 4_900_000) == pytest.approx(0, abs=0.01)


def test_to_and_fro_adds_up():
    motion = turns(((2, 4, 0.5), (5, 7, -0.5)), 10, seed=1)
    turning = Turning.of(motion.t_us, motion.turn_deg_s)
    assert turning.turned_rev(1_000_000, 9_000_000) == pytest.approx(1, abs=0.03)


def test_where_the_sensor_was_not_heard_nothing_is_said():
    motion = turns(((2, 4, 0.5),), 10, seed=1)
    heard = (motion.t_us < 3_000_000) | (motion.t_us > 5_000_000)
    turning = Turning.of(motion.t_us[heard], motion.turn_deg_s[heard])
    assert turning.turned_rev(1_000_000, 9_000_000) is None
    assert turning.turned_rev(6_000_000, 12_000_000) is None
    assert turning.turned_rev(6_000_000, 9_000_000) == pytest.approx(0, abs=0.01)
    empty = Turning.of(np.array([], dtype=np.int64), np.array([]))
    assert empty.turned_rev(0, 1_000_000) is None


def test_stillness_is_found_to_a_sample_and_ends_with_silence():
    t_us = np.arange(0, 10_000_000, 20_000)
    rate = np.where((t_us >= 3_000_000) & (t_us < 4_000_000), 40.0, 0.3)
    rate[100] = 40.0  # one wild sample, at 2 s
    heard = (t_us < 6_000_000) | (t_us > 7_000_000)
    turning = Turning.of(t_us[heard], rate[heard])
    spans = [(0, 2.98), (4.0, 5.98), (7.02, 9.98)]
    assert turning.still_spans() == pytest.approx(np.array(spans))
    assert turning.turned_spans() == pytest.approx(np.array([(2.98, 4.0), (5.98, 7.02)]))
    assert turning.heard(4, 5)
    assert not turning.heard(5, 8)
    assert turning.fastest_deg_s(0, 1.9) == pytest.approx(0, abs=0.01)
    assert turning.fastest_deg_s(2, 5) == pytest.approx(39.7)
    assert turning.fastest_deg_s(11, 12) == 0
