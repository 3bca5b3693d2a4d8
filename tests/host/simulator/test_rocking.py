"""A rocked wheel as its motion sensor sees it: the angle is the hand's, and holds are still."""

import numpy as np
import pytest

from rockhold.simulator.draw import draw_scenario
from rockhold.simulator.rocking import hub_motion
from rockhold.simulator.simulate import simulate, simulate_motion


def test_the_rate_adds_up_to_the_angle_and_holds_are_still():
    scenario = draw_scenario("0.00005 in, 20/s", 5)
    trace, truth, motion = simulate_motion(scenario, 5)
    assert np.array_equal(trace.count, simulate(scenario, 5)[0].count)
    hub = hub_motion(motion, 5, bias_deg_s=4.0)
    turned = np.cumsum(hub.turn_deg_s - 4.0) / 100
    assert turned - turned[0] == pytest.approx(hub.angle_deg - hub.angle_deg[0], abs=2.0)
    t_s = hub.t_us / 1e6
    for hold in truth.holds:
        held = (t_s > hold.start_s + 0.2) & (t_s < hold.end_s - 0.2)
        assert np.abs(hub.turn_deg_s[held] - 4.0).max() < 5
    assert np.abs(hub.turn_deg_s).max() > 20
