"""The simulated indicator: lag, sampling and digits."""

import numpy as np
import pytest

from rockhold.simulator.gauge import digits, lagged, sample_times
from rockhold.simulator.motion import GRID_HZ
from rockhold.simulator.scenario import Gauge


@pytest.mark.parametrize(("share", "taus"), [(0.02, 3.912), (0.01, 4.605)])
def test_first_order_lag(share, taus):
    # Textbook: a first-order lag comes within 2 % after 3.912 and within 1 % after 4.605 tau.
    lag_s = 0.2
    travel = np.concatenate(([0.0], np.ones(2000)))
    left = 1 - lagged(travel, lag_s)
    settled_s = np.flatnonzero(left <= share)[0] / GRID_HZ
    assert settled_s / lag_s == pytest.approx(taus, abs=0.03)
    assert (lagged(travel, 0.0) == travel).all()


def test_rise_time():
    # 10 to 90 percent of a first-order lag take 2.197 tau.
    answer = lagged(np.concatenate(([0.0], np.ones(2000))), 0.2)
    rise_s = (np.flatnonzero(answer >= 0.9)[0] - np.flatnonzero(answer >= 0.1)[0]) / GRID_HZ
    assert rise_s / 0.2 == pytest.approx(2.197, abs=0.02)


def test_digits():
    travel = np.array([-0.006, -0.004, 0.004, 0.006, 0.0149])
    assert digits(travel, 0.01, "nearest").tolist() == [-1, 0, 0, 1, 1]
    assert digits(travel, 0.01, "down").tolist() == [-1, -1, 0, 0, 1]


def test_sampling():
    rng = np.random.default_rng(1)
    times = sample_times(60.0, Gauge(rate_hz=20, jitter=0.1), rng)
    steps = np.diff(times)
    assert steps.mean() == pytest.approx(0.05, rel=0.02)
    assert steps.std() == pytest.approx(0.005, rel=0.15)
    fewer = sample_times(60.0, Gauge(rate_hz=20, lost=0.25), np.random.default_rng(1))
    assert len(fewer) == pytest.approx(0.75 * len(times), rel=0.08)
