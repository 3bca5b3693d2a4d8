"""A pause in the work looks like a frozen gauge, unless a motion sensor saw the wheel stand.

Common practice, no source: a hub stays where it was pushed last, until somebody moves it.
"""

import numpy as np
import pytest

from rockhold.measure.hub.turning import Turning
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.trace import Trace
from rockhold.procedure.endplay import shipped_limits
from rockhold.simulator.draw import GAUGES, draw_scenario
from rockhold.simulator.rocking import hub_motion
from rockhold.simulator.simulate import simulate, simulate_motion

LIMITS = shipped_limits()
JOBS = range(1_200, 1_212)


def left_after(trace, end_s, wait_s=30.0):
    """Return a trace whose indication stands where it is at a time, for so long."""
    n = int(np.searchsorted(trace.t_s, end_s))
    spacing_us = int(np.median(np.diff(trace.t_us)))
    more = int(wait_s * 1e6 / spacing_us)
    t_us = trace.t_us[n - 1] + spacing_us * np.arange(1, more + 1)
    count = np.full(more, trace.count[n - 1])
    return Trace(
        np.concatenate((trace.t_us[:n], t_us)),
        np.concatenate((trace.count[:n], count)),
        trace.spans,
    )


def paused(trace, turning, at_s, pause_s):
    """Return readings and turning of somebody who lets the wheel stand for a while at a hold."""
    n, k = int(np.searchsorted(trace.t_s, at_s)), int(np.searchsorted(turning.t_s, at_s))
    pause_us = round(pause_s * 1e6)
    stood = left_after(trace, at_s, pause_s)
    shown = Trace(
        np.concatenate((stood.t_us, trace.t_us[n:] + pause_us)),
        np.concatenate((stood.count, trace.count[n:])),
        trace.spans,
    )
    more = np.arange(0.01, pause_s, 0.01)
    t_s = np.concatenate((turning.t_s[:k], at_s + more, turning.t_s[k:] + pause_s))
    rest = np.zeros(len(more))
    rate = np.concatenate((turning.rate_deg_s[:k], rest, turning.rate_deg_s[k:]))
    return shown, Turning.of(np.rint(t_s * 1e6).astype(np.int64), rate)


@pytest.mark.parametrize("gauge", GAUGES)
def test_a_pause_in_the_work_is_no_frozen_gauge_where_a_sensor_saw_the_wheel_stand(gauge):
    alone, seen = [], []
    for seed in JOBS:
        trace, truth, motion = simulate_motion(draw_scenario(gauge, seed), seed)
        hub = hub_motion(motion, seed)
        turning = Turning.of(hub.t_us, hub.turn_deg_s)
        shown, turning = paused(trace, turning, truth.holds[2].end_s - 0.2, 20.0)
        for told, sensor in ((alone, None), (seen, turning)):
            result = measure_trace(shown, LIMITS, GaugeFacts(), sensor)
            told.append("gauge_frozen" in {finding.code for finding in result.findings})
    assert sum(seen) <= 1
    assert sum(alone) >= len(JOBS) - 2  # by the readings alone nobody can tell


def test_a_gauge_that_stops_before_the_work_is_done_is_still_told():
    for gauge in GAUGES:
        trace, truth = simulate(draw_scenario(gauge, 1_203), 1_203)
        stopped = left_after(trace, truth.holds[3].start_s - 0.5)
        result = measure_trace(stopped, LIMITS, GaugeFacts())
        assert result.verdict != "accept"
        assert "gauge_frozen" in {f.code for f in result.findings}, gauge
