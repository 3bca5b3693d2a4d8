"""A plunger that hangs free in the work: where no hub can be, and still.

Common practice, no source: a plunger that is off the face goes out to its free stop.
"""

import numpy as np
import pytest

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.hanging import hanging, hanging_findings, without_hanging
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.steps import FoundStep
from rockhold.measure.trace import Trace, UnitSpan
from rockhold.procedure.endplay import shipped_limits

FINE_MM, COARSE_MM = 0.00127, 0.01
RATE_HZ = 20


def work(step_mm=FINE_MM, noise=0.4, play_mm=0.08, cycles=4):
    """Return the exact indication of a job, in counts: 3 s of rocking and 2 s of hold a visit."""
    rng = np.random.default_rng(5)
    t = np.arange(5 * RATE_HZ) / RATE_HZ
    rocked = 0.008 * np.sin(2 * np.pi * 0.9 * t) * (t < 3)
    sides = [0.5 * play_mm * (1 if k % 2 == 0 else -1) + rocked for k in range(2 * cycles)]
    exact = np.concatenate([np.full(2 * RATE_HZ, 0.1 * play_mm), *sides]) / step_mm
    return exact, rng.normal(0, noise, len(exact))


def axis_of(exact, noise, step_mm=FINE_MM):
    count = np.rint(exact + noise).astype(np.int64)
    return Coordinate(np.arange(len(count)) / RATE_HZ, count, step_mm, 1.0, 1 / RATE_HZ)


def hung_axis(from_s, to_s, by_mm, step_mm=FINE_MM, shift_mm=0.0, noise=0.4):
    exact, shake = work(step_mm, noise)
    first, end = int(from_s * RATE_HZ), int(to_s * RATE_HZ)
    exact[end:] += shift_mm / step_mm
    exact[first:end] = exact.min() - by_mm / step_mm
    return axis_of(exact, shake, step_mm)


def codes(axis):
    return [f.code for f in hanging_findings(hanging(axis), [])]


@pytest.mark.parametrize("noise", [0.0, 0.4])
@pytest.mark.parametrize("step_mm", [FINE_MM, COARSE_MM])
@pytest.mark.parametrize("sign", [1, -1])
def test_a_plunger_that_hangs_shows_the_noise_of_its_gauge_and_no_more(noise, step_mm, sign):
    noise = noise if step_mm == FINE_MM else 0.1 * noise
    axis = hung_axis(19, 27, 0.4, step_mm, noise=noise)
    turned = Coordinate(axis.t_s, sign * axis.count, step_mm, 1.0, axis.spacing_s)
    assert codes(turned) == ["contact_lost"]
    assert hanging(turned).at_s == pytest.approx(19, abs=0.2)
    # In a deep hole it hangs as well, but not for long.
    assert codes(hung_axis(19, 22.5, 0.4, step_mm, noise=noise)) == [
        "contact_lost", "plunger_dropped"]  # fmt: skip
    assert codes(hung_axis(19, 21, 0.4, step_mm, noise=noise)) == []  # left to the excursions
    # To the end, and back at another place.
    assert codes(hung_axis(19, 99, 0.4, step_mm, noise=noise)) == ["contact_lost"]
    assert codes(hung_axis(19, 27, 0.4, step_mm, 0.1, noise=noise)) == ["contact_lost"]


def test_what_the_hub_may_do_is_let_alone():
    assert codes(axis_of(*work())) == []
    assert codes(axis_of(*work(COARSE_MM, 0.05, 0.2), COARSE_MM)) == []
    # One cycle only: each side is visited once, and still enough for a coarse gauge.
    once = work(COARSE_MM, 0.0, 0.2, cycles=1)[0]
    flat = np.where(np.arange(len(once)) < 140, 10.0, -10.0)
    assert codes(axis_of(np.r_[np.zeros(40), flat, np.zeros(40)], 0.0, COARSE_MM)) == []
    # The gauge hung before it was set up.
    exact, shake = work()
    exact[: 2 * RATE_HZ] = exact.min() - 400
    assert codes(axis_of(exact, shake)) == []
    # It moves: no free stop.
    exact, shake = work()
    exact[380:480] -= 400
    assert codes(axis_of(exact, shake)) == []


def test_a_step_of_the_coordinate_is_no_free_stop():
    for size in (-300, 300):
        for at in (40, 130, 240, 440, 640):
            exact, shake = work()
            exact[at:] += size
            assert codes(axis_of(exact, shake)) == [], (size, at)
            coarse, _ = work(COARSE_MM, 0.0)
            coarse[at:] += size / 10
            assert codes(axis_of(coarse, 0.0, COARSE_MM)) == [], (size, at)


def test_a_late_stay_is_explained_by_a_step_before_it():
    hung = hanging(hung_axis(37.5, 99, 0.4))
    assert not hung.surely

    def step(kind, at_s):
        return [FoundStep(kind, 0, at_s, 9, 0.0)]

    assert [f.code for f in hanging_findings(hung, [])] == ["contact_lost"]
    assert hanging_findings(hung, step("base_moved", 20.0)) == []
    assert hanging_findings(hung, step("zero_pressed", hung.at_s)) == []
    # A knock at the same time looks the same: both are said.
    assert hanging_findings(hung, step("base_moved", hung.at_s))


def test_the_rest_of_the_work_is_measured_as_after_a_silence():
    axis = hung_axis(17, 24, 0.4)
    kept = without_hanging(axis, hanging(axis))
    assert kept.count.min() > axis.count.min() + 100
    assert len(kept.count) == pytest.approx(len(axis.count) - 7 * RATE_HZ, abs=6)
    trace = Trace(
        np.rint(axis.t_s * 1e6).astype(np.int64), axis.count, (UnitSpan(0, "mm", FINE_MM),)
    )
    result = measure_trace(trace, shipped_limits(), GaugeFacts())
    assert "contact_lost" in {f.code for f in result.findings}
    assert result.verdict != "accept"
    assert result.end_play_mm == pytest.approx(0.08, abs=0.002)
