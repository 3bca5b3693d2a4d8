"""A motion sensor on the hub tells a hold from rocking that hardly moves the indication."""

import numpy as np
import pytest

from host.measure.jobs import ALL, COARSE, FINE, LIMITS, NO_CERTIFICATE, codes, with_sensor
from rockhold.measure.hub.turning import Turning
from rockhold.measure.measure import measure_trace

SEEDS = range(8100, 8106)


def result_of(trace, turning):
    return measure_trace(trace, LIMITS, NO_CERTIFICATE, turning)


@pytest.mark.parametrize("misfortune", ["no_hold", "short_hold"])
@pytest.mark.parametrize("gauge", ALL)
def test_a_wheel_that_was_not_held_is_never_measured(gauge, misfortune):
    for seed in SEEDS:
        trace, turning, _ = with_sensor(gauge, seed, misfortune, bias_deg_s=seed % 30 - 15.0)
        result = result_of(trace, turning)
        assert result.verdict is None
        assert codes(result) & {"no_hold", "short_hold"}, seed


def test_without_the_sensor_some_of_these_pass():
    # Else the tests above would show nothing.
    jobs = [with_sensor(COARSE, seed, "no_hold") for seed in SEEDS]
    assert any(result_of(trace, None).verdict is not None for trace, _, _ in jobs)


@pytest.mark.parametrize("gauge", ALL)
def test_a_good_job_is_measured_as_well_as_without(gauge):
    for seed in SEEDS:
        trace, turning, truth = with_sensor(gauge, seed, bias_deg_s=-12.0)
        result, alone = result_of(trace, turning), result_of(trace, None)
        assert not codes(result) & {"no_hold", "short_hold", "few_cycles"}, seed
        assert abs(result.end_play_mm - truth.end_play_mm) <= 1.5 * result.expanded_mm
        assert result.cycles == alone.cycles


def test_a_sensor_on_the_spindle_changes_nothing():
    for seed in SEEDS:
        trace, turning, _ = with_sensor(COARSE, seed, "no_hold")
        trembles = np.random.default_rng(seed).normal(0, 1.0, len(turning.t_s))
        still = Turning.of((turning.t_s * 1e6).astype(np.int64), trembles)
        assert result_of(trace, still) == result_of(trace, None)


def test_where_the_sensor_was_silent_the_readings_alone_count():
    trace, turning, truth = with_sensor(FINE, 8101)
    first = truth.holds[0]
    heard = (turning.t_s < first.start_s - 1) | (turning.t_s > first.end_s + 1)
    part = Turning(turning.t_s[heard], turning.rate_deg_s[heard], turning.bias_deg_s)
    assert result_of(trace, part).to_json() == result_of(trace, turning).to_json()


def test_one_visit_that_was_rocked_on_is_named_and_left_out():
    trace, turning, truth = with_sensor(COARSE, 8102)
    hold = truth.holds[2]
    rate = turning.rate_deg_s.copy()
    during = (turning.t_s > hold.start_s - 1) & (turning.t_s < hold.end_s + 0.2)
    rate[during] = 60 * np.sin(2 * np.pi * 0.8 * turning.t_s[during])
    result = result_of(trace, Turning(turning.t_s, rate, 0.0))
    (found,) = [found for found in result.findings if found.code == "no_hold"]
    assert hold.start_s < found.at_s < hold.end_s + 2
    assert "motion sensor" in found.text
    assert not any(
        min(one.end_s, hold.end_s) - max(one.start_s, hold.start_s) > 0.5 for one in result.holds
    )
    assert result.end_play_mm is not None


def test_the_wheel_at_rest_before_and_after_is_not_shown_as_held():
    trace, turning, _ = with_sensor(FINE, 8103, "no_hold")
    result = result_of(trace, turning)
    assert result.holds == ()
    # Where it turned is told for the pictures: nearly all the time of the work.
    worked_s = max(end - start for start, end in result.turned)
    assert worked_s > 0.5 * (trace.t_s[-1] - trace.t_s[0])
    assert result_of(trace, None).turned == ()
