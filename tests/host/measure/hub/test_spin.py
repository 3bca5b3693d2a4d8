"""The spin check on simulated wheels, as the board's motion source delivers them.

No published figure says how a good wheel runs down; the checks are that what was put into the
simulated wheel is found at its place, and nothing where nothing was put.
"""

import numpy as np
import pytest

from rockboard.sources.motion import PARTS, Motion
from rockhold.errors import TooFewSamplesError
from rockhold.measure.hub.spin import CAUGHT, KNOCK, STOPPED, Knocks, check_spin
from rockhold.measure.hub.turning import Turning
from rockhold.simulator.spin import Spin, spin, turns


class Sink:
    def __init__(self):
        self.t_us, self.value = [], []

    def reading(self, t_us, count, scale):
        self.t_us.append(t_us)
        self.value.append(count * scale.mantissa * 10.0**scale.exponent)

    def event(self, code, t_us, value):
        raise AssertionError(code)


def as_the_board_sees_it(motion):
    """Turning in °/s and knocks in mg, by the board's own arithmetic."""
    turning, knocks = Sink(), Sink()
    source = Motion((turning, knocks), None, PARTS["mpu6050"], 0, 2)
    rows = zip(motion.t_us.tolist(), motion.raw_turn(), motion.raw_shock(), strict=True)
    for t_us, turn, shock in rows:
        source._sample(t_us, (shock, 0, 2048, 0, 0, turn))
    return (
        Turning.of(np.array(turning.t_us), np.array(turning.value) / 1000),
        Knocks(np.array(knocks.t_us) / 1e6, np.array(knocks.value)),
    )


def checked(how, seed=1, length_s=40.0):
    rest = turns((), 3.0, seed, how.bias_deg_s)
    run = spin(how, 3.0, length_s, seed)
    both = type(run)(
        np.append(rest.t_us, run.t_us),
        np.append(rest.turn_deg_s, run.turn_deg_s),
        np.append(rest.shock_mg, run.shock_mg),
        np.append(rest.angle_deg, run.angle_deg),
    )
    turning, knocks = as_the_board_sees_it(both)
    return check_spin(turning, knocks, 0, int((3 + length_s) * 1e6)), run


@pytest.mark.parametrize("unbalance_deg_s2", [0.0, 20.0, 60.0])
@pytest.mark.parametrize("speed_deg_s", [100.0, 240.0, 450.0])
def test_a_good_wheel_has_no_findings(speed_deg_s, unbalance_deg_s2):
    for seed in range(2):
        how = Spin(speed_deg_s, unbalance_deg_s2=unbalance_deg_s2, bias_deg_s=-6.0)
        found, _ = checked(how, seed)
        assert found.findings == ()
        assert (found.smooth, found.quiet) == (True, True)
        assert found.speed_deg_s == pytest.approx(speed_deg_s, abs=2 + 1.5 * unbalance_deg_s2)


def test_the_figures_are_those_of_the_wheel():
    found, _ = checked(Spin(240.0, viscous_per_s=0.0, friction_deg_s2=12.0))
    assert found.slowing_deg_s2 == pytest.approx(12.0, rel=0.02)
    # From 240 to 10 °/s at 12 °/s²: (240² − 10²) / (2 · 12) degrees.
    assert found.turned_rev == pytest.approx((240**2 - 10**2) / 24 / 360, rel=0.02)
    assert found.to_json()["smooth"] is True


@pytest.mark.parametrize("share", [0.08, 0.3, 0.6])
@pytest.mark.parametrize("unbalance_deg_s2", [0.0, 40.0])
def test_a_catch_is_found_with_its_angle(share, unbalance_deg_s2):
    for seed in range(2):
        how = Spin(catch_deg=500.0, catch_share=share, unbalance_deg_s2=unbalance_deg_s2)
        found, run = checked(how, seed)
        assert [one.code for one in found.findings] == [CAUGHT]
        (caught,) = found.findings
        # An unbalanced tyre may be fastest after the hand let go, 1.2 s from its begin.
        true_deg = np.interp([4.2e6, caught.at_us, found.start_us], run.t_us, run.angle_deg)
        assert true_deg[1] - true_deg[0] == pytest.approx(500, abs=15)
        assert caught.angle_deg == pytest.approx(true_deg[1] - true_deg[2], abs=10)
        assert not found.smooth


def test_a_stop_is_found():
    found, _ = checked(Spin(stop_deg=700.0))
    assert [one.code for one in found.findings] == [STOPPED]
    assert found.findings[0].angle_deg == pytest.approx(700, abs=25)


def test_a_knock_is_found_and_is_not_called_a_catch():
    found, _ = checked(Spin(knock_deg=600.0, knock_mg=700))
    assert [one.code for one in found.findings] == [KNOCK]
    assert found.findings[0].angle_deg == pytest.approx(600, abs=30)
    assert (found.smooth, found.quiet) == (True, False)


def test_a_wheel_that_was_hardly_turned_or_a_silent_sensor_is_said():
    with pytest.raises(TooFewSamplesError, match="was not spun: 2"):
        checked(Spin(speed_deg_s=28))
    turning, knocks = as_the_board_sees_it(spin(Spin(), 0, 20, 1))
    with pytest.raises(TooFewSamplesError, match="was not heard"):
        check_spin(turning, knocks, 30_000_000, 40_000_000)
    whole = check_spin(turning, None, 0, 20_000_000)
    assert whole.quiet is None
    gap = (turning.t_s < 3) | (turning.t_s > 4)
    holed = Turning(turning.t_s[gap], turning.rate_deg_s[gap], 0.0)
    with pytest.raises(TooFewSamplesError, match="not heard all the time"):
        check_spin(holed, None, 0, 20_000_000)
