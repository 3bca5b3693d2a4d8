"""Which pulls count; three turns and three clicks to 200 lbf·ft is common practice, no source."""

import pytest

from rockhold.errors import OutOfRangeError
from rockhold.measure.hub.turning import Turning
from rockhold.measure.torque.events import Pull
from rockhold.measure.torque.judge import (
    ABOVE,
    BELOW,
    BY_PERSON,
    BY_SENSOR,
    NOT_TURNED,
    STOOD,
    TorqueStep,
    counted,
    judge_pulls,
)
from rockhold.measure.torque.limits import PullLimits
from rockhold.measure.torque.pulls import find_pulls
from rockhold.simulator.spin import turns
from rockhold.simulator.wrench import Adapter, pull_stream
from rockhold.simulator.wrench import Pull as MadePull

STEP = TorqueStep(low_nm=260, high_nm=285, pulls=3, turn_rev=1.0)


def pull(peak_nm, at_s, loading_s=1.0):
    at_us = int(at_s * 1e6)
    return Pull(at_us - 10**6, at_us, at_us + 10**5, peak_nm, 0, 0, 0, True, loading_s, 99)


def test_what_is_too_little_too_much_or_without_a_turn_does_not_count():
    pulls = [pull(271, 5), pull(250, 10), pull(271, 15), pull(300, 20), pull(271, 25)]
    said = [False, True, False, True, True]
    judged = judge_pulls(pulls, STEP, confirmed=said)
    assert [one.because for one in judged] == ["", BELOW, STOOD, ABOVE, ""]
    assert [one.turned for one in judged] == [None, BY_PERSON, NOT_TURNED, BY_PERSON, BY_PERSON]
    assert counted(judged) == 2


def test_the_turn_is_asked_since_the_last_pull_that_counted():
    def half_a_turn_each_5_s(from_us, to_us):
        return (to_us - from_us) / 10e6

    pulls = [pull(271, 5), pull(271, 10), pull(271, 15), pull(271, 25)]
    judged = judge_pulls(pulls, STEP, half_a_turn_each_5_s)
    assert [one.counts for one in judged] == [True, False, True, True]
    assert [one.turned for one in judged] == [None, NOT_TURNED, BY_SENSOR, BY_SENSOR]
    assert judged[2].turned_rev == pytest.approx(1.0)


def test_what_the_sensor_saw_goes_before_what_is_said():
    judged = judge_pulls([pull(271, 5), pull(271, 10)], STEP, lambda a, b: 0.1, [True, True])
    assert judged[1].turned == NOT_TURNED


def test_where_no_turn_is_asked_for_none_is_wanted():
    judged = judge_pulls([pull(271, 5), pull(271, 6)], TorqueStep(260, 285, 2))
    assert counted(judged) == 2
    assert judged[1].turned is None


def test_a_whole_job_with_wrench_and_hub():
    made = [MadePull(2.0, 271), MadePull(9.0, 272), MadePull(13.0, 271), MadePull(19.0, 240)]
    stream = pull_stream(made, Adapter(80, handling_nm=4), 25, seed=3)
    motion = turns(((5, 8.5, 1.0), (16, 18, 1.2)), 25, seed=3)
    turning = Turning.of(motion.t_us, motion.turn_deg_s)
    pulls = find_pulls(stream.t_us, stream.torque_nm, PullLimits.for_target(271))
    judged = judge_pulls(pulls, STEP, turning.turned_rev)
    assert [one.because for one in judged] == ["", "", STOOD, BELOW]


def test_within_the_tools_limit_of_error():
    # ISO 6789-1:2017, ±4 % above 10 N·m, from memory: 271 ± 10.84 N·m.
    step = TorqueStep.within(271, 4.0, 3, 1.0)
    assert (step.low_nm, step.high_nm) == (pytest.approx(260.16), pytest.approx(281.84))


def test_a_step_that_cannot_be_is_refused():
    with pytest.raises(OutOfRangeError, match="0 < low"):
        TorqueStep(0, 10)
    with pytest.raises(OutOfRangeError, match="one pull or more"):
        TorqueStep(5, 10, 0)
