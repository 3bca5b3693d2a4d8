"""The benchmark's own methods: each does what its name says, on one easy job."""

import pytest

from bench.accuracy import METHODS, THOU_MM, study
from rockhold.simulator.scenario import Gauge, Scenario, Technician, WheelEnd
from rockhold.simulator.simulate import simulate


@pytest.mark.parametrize("name", METHODS)
def test_an_easy_job(name):
    parts = WheelEnd(end_play_mm=0.1, runout_mm=0.002, seating_mm=0.0, give_mm=0.0)
    person = Technician(tremor_mm=0.0002, force_sd=0.0)
    trace, truth = simulate(Scenario(parts, person, Gauge()), 1)
    allowed = {"span": 0.006, "states": 0.003}.get(name, 0.0015)
    assert METHODS[name](trace, truth) == pytest.approx(0.1, abs=allowed)


def test_ours_beats_the_simple_ones():
    rms, _, missing = study("0.00005 in, 20/s", 6)
    assert missing <= 1
    assert rms["ours"] < 0.5 * rms["span"]
    assert rms["ours"] * THOU_MM < 0.002
