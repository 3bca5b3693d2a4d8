"""What a person is told while the indicator is followed, whatever the batches are cut like."""

import numpy as np
import pytest

from host.measure.jobs import COARSE, FINE, LIMITS
from rockhold.live.follow import Follower
from rockhold.simulator.draw import draw_scenario
from rockhold.simulator.rocking import hub_motion
from rockhold.simulator.simulate import simulate_motion
from rockwire import messages as m
from rockwire.units import HALF_THOU, MILLIDEGREE_PER_SECOND, Scale

RATE = Scale(MILLIDEGREE_PER_SECOND, 10, 0)
TWENTIETH_THOU = Scale(HALF_THOU.unit, 5, -5)
SCALES = {COARSE: HALF_THOU, FINE: TWENTIETH_THOU}


def batches(source, scale, t_us, counts, rng, most):
    """Cut readings into messages; each with the time when it leaves the board, at its last one."""
    at = 0
    while at < len(t_us):
        end = min(len(t_us), at + int(rng.integers(1, most + 1)))
        times, values = tuple(t_us[at:end].tolist()), tuple(counts[at:end].tolist())
        yield times[-1], m.Readings(source, scale, times, values)
        at = end


def told(job, gauge, rng, late_us=0, most=(4, 18)):
    """Return the holds that a follower counts of a job whose sensor's batches come so late."""
    trace, hub = job
    rates = np.rint(hub.turn_deg_s * 100).astype(np.int64)
    shown = batches(0, SCALES[gauge], trace.t_us, trace.count, rng, most[0])
    turned = batches(2, RATE, hub.t_us, rates, rng, most[1])
    late = [(t_us + late_us, message) for t_us, message in turned]
    follower = Follower(LIMITS)
    for _, message in sorted([*shown, *late], key=lambda one: one[0]):
        follower.take(message)
    return follower.holds


@pytest.mark.parametrize("gauge", [COARSE, FINE])
def test_a_batch_that_tells_of_the_next_rock_hides_no_hold(gauge):
    # One reading a message is the order of time. The sensor's batches may be sent first, and so
    # tell of what the indicator's tell later.
    for seed in range(40, 50):
        trace, _, motion = simulate_motion(draw_scenario(gauge, seed), seed)
        job = trace, hub_motion(motion, seed)
        rng = np.random.default_rng(seed)
        in_time = told(job, gauge, rng, most=(1, 1))
        assert told(job, gauge, rng, late_us=-300_000) == in_time, seed
