"""The least-squares fit against numpy, statsmodels and NIST's reference data."""

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.datasets import nile

from rockhold.measure.fit import Step, fit_levels

RNG = np.random.default_rng(5)


def some_holds(n=8, end_play=60.0, drift=0.02, scatter=0.5):
    times = np.cumsum(RNG.uniform(4, 8, n))
    upper = np.arange(n) % 2 == 0
    levels = 100 + drift * times + np.where(upper, 0.5, -0.5) * end_play
    return times, levels + RNG.normal(0, scatter, n), upper


def test_equal_to_statsmodels():
    times, levels, upper = some_holds()
    fit = fit_levels(times, levels, upper)
    design = np.column_stack((np.ones(8), np.where(upper, 0.5, -0.5), times - times.mean()))
    model = sm.OLS(levels, design).fit()
    assert fit.end_play == pytest.approx(model.params[1], rel=1e-9)
    assert fit.drift_per_s == pytest.approx(model.params[2], rel=1e-7)
    assert fit.u_end_play == pytest.approx(model.bse[1], rel=1e-7)
    assert fit.u_drift_per_s == pytest.approx(model.bse[2], rel=1e-7)
    assert fit.dof == model.df_resid == 5
    assert fit.scatter == pytest.approx(np.sqrt(model.scale), rel=1e-7)


def test_exact_levels_give_the_exact_end_play():
    times, levels, upper = some_holds(scatter=0.0)
    fit = fit_levels(times, levels, upper)
    assert fit.end_play == pytest.approx(60, abs=1e-9)
    assert fit.drift_per_s == pytest.approx(0.02, abs=1e-9)
    assert fit.scatter == pytest.approx(0, abs=1e-9)


def test_a_step_does_not_touch_the_end_play():
    times, levels, upper = some_holds(scatter=0.0)
    at = float(times[3]) + 1
    levels = levels + 500 * (times > at)
    assert fit_levels(times, levels, upper, (Step(at, 0.0, np.inf),)).end_play == pytest.approx(60)
    assert fit_levels(times, levels, upper, (Step(at, 500.0, 0.4),)).end_play == pytest.approx(60)


def test_a_known_step_helps():
    times, levels, upper = some_holds(n=4)
    at = float(times[1]) + 1
    free = fit_levels(times, levels, upper, (Step(at, 0.0, np.inf),))
    known = fit_levels(times, levels, upper, (Step(at, 0.0, 0.01),))
    assert known.dof == free.dof + 1


def test_type_a_of_the_gum():
    # JCGM 100:2008, 4.4.3: 20 temperatures, mean 100.145, s = 1.489, s/sqrt(20) = 0.333 (the
    # values from memory; they reproduce the three published numbers). Here they are the levels of
    # one side, and, 50 lower, of the other one; no time passes, so the drift takes one degree.
    told = "96.90 98.18 98.25 98.61 99.03 99.49 99.56 99.74 99.89 100.07 "
    told += "100.33 100.42 100.68 100.95 101.11 101.20 101.57 101.84 102.36 102.72"
    side = np.array([float(value) for value in told.split()])
    upper = np.repeat([True, False], 20)
    fit = fit_levels(np.zeros(40), np.concatenate((side, side - 50)), upper)
    assert fit.end_play == pytest.approx(50)
    assert (side - fit.residuals[:20]).mean() == pytest.approx(100.145, abs=5e-4)
    scatter = fit.scatter * np.sqrt(fit.dof / 38)
    assert scatter == pytest.approx(1.489, abs=5e-4)
    assert fit.u_end_play * scatter / fit.scatter / np.sqrt(2) == pytest.approx(0.333, abs=5e-4)


@pytest.mark.parametrize(
    ("x0", "others", "s", "within"),
    [
        # NIST Statistical Reference Datasets, univariate: mean x0, and s, are exact.
        (10000002, [10000001, 10000003], 1, 1e-12),  # NumAcc1
        (1.2, [1.1, 1.3] * 500, 0.1, 1e-12),  # NumAcc2
        (1000000.2, [1000000.1, 1000000.3] * 500, 0.1, 1e-9),  # NumAcc3
        (10000000.2, [10000000.1, 10000000.3] * 500, 0.1, 1e-8),  # NumAcc4
    ],
)
def test_nearly_equal_large_numbers_keep_their_digits(x0, others, s, within):
    # The certified s, as the scatter of two sides of these values; no time passes, so that the
    # drift takes one degree. A one-pass variance is wrong in the first digit on NumAcc4.
    side = np.array([x0, *others], dtype=float)
    n = len(side)
    upper = np.repeat([True, False], n)
    fit = fit_levels(np.zeros(2 * n), np.concatenate((side, side - 1)), upper)
    assert fit.end_play == pytest.approx(1, abs=within)
    assert (side - fit.residuals[:n]).mean() == pytest.approx(x0, rel=1e-13)
    assert fit.scatter * np.sqrt(fit.dof / (2 * n - 2)) == pytest.approx(s, abs=within)


def test_numacc4_keeps_its_digits():
    # NIST StRD NumAcc4 (certified): mean 10000000.2, s 0.1. A one-pass variance fails on it.
    values = np.concatenate(([10000000.2], np.tile([10000000.1, 10000000.3], 500)))
    n = len(values)
    upper = np.zeros(n, dtype=bool)
    upper[::2] = True
    fit = fit_levels(np.arange(n, dtype=float), values, upper)
    direct = values[upper].mean() - values[~upper].mean()
    assert fit.end_play == pytest.approx(direct, abs=1e-7)


def test_sirstv_variance_between_instruments():
    # NIST StRD SiRstv (certified within-instrument deviation 0.104076068334656).
    tables = [
        [0.3052, 0.1240, 0.1890, 0.2569, 0.3403],
        [0.3042, 0.3825, 0.1669, 0.3257, 0.0422],
        [0.1303, 0.2005, 0.2889, 0.0343, 0.1811],
        [0.2795, 0.1748, 0.1494, 0.1485, -0.0115],
        [0.2119, 0.1051, 0.1850, 0.0052, 0.2090],
    ]
    data = 196 + np.array(tables)
    within = ((data - data.mean(axis=1, keepdims=True)) ** 2).sum() / 20
    assert np.sqrt(within) == pytest.approx(0.104076068334656, abs=1e-9)
    # Two instruments as the two sides: the fit's scatter is their pooled deviation.
    levels = data[:2].T.ravel()
    upper = np.tile([True, False], 5)
    times = np.repeat(np.arange(5.0), 2)
    design = np.column_stack((np.ones(10), np.where(upper, 0.5, -0.5), times - times.mean()))
    model = sm.OLS(levels, design).fit()
    assert fit_levels(times, levels, upper).scatter == pytest.approx(np.sqrt(model.scale), abs=1e-9)


def test_nile_as_a_step():
    # Annual flow of the Nile (statsmodels): a step after 1898, means 1097.75 and 849.972.
    flow = nile.load_pandas().data["volume"].to_numpy()
    upper = np.arange(100) % 2 == 0  # a made-up "side" that the flow knows nothing of
    times = np.arange(100.0)
    fit = fit_levels(times, flow, upper, (Step(27.5, 0.0, np.inf),))
    assert flow[:28].mean() == pytest.approx(1097.75)
    assert flow[28:].mean() == pytest.approx(849.972, abs=5e-4)
    assert abs(fit.end_play) < 3 * fit.u_end_play


@pytest.mark.parametrize("n", [3, 4, 5, 6, 8])
def test_a_known_step_is_one_more_observation(n):
    # Aitken's least squares (textbook): each observation divided by its standard uncertainty; that
    # of a level is the scatter of the fit that knows no sizes, and never below 0.05 counts.
    for scatter in (0.0, 0.01, 0.7):
        times, levels, upper = some_holds(n=n, scatter=scatter)
        at, size, u = float(times[n // 2 - 1]) + 1, 40.0, 0.3
        levels = levels + (size + 0.4) * (times > at)
        columns = [np.ones(n), np.where(upper, 0.5, -0.5), times - times.mean(), times > at]
        design = np.column_stack(columns if n >= 4 else columns[:2] + columns[3:]).astype(float)
        free = np.linalg.lstsq(design, levels, rcond=None)[0]
        squares = float(((levels - design @ free) ** 2).sum())
        u_level = max((squares / max(n - design.shape[1], 1)) ** 0.5, 0.05)
        seen = np.eye(design.shape[1])[-1] / u
        known = np.linalg.lstsq(
            np.vstack((design / u_level, seen)), np.append(levels / u_level, size / u), rcond=None
        )[0]
        fit = fit_levels(times, levels, upper, (Step(at, size, u),))
        assert fit.end_play == pytest.approx(known[1], rel=1e-6)
        assert fit.drift_per_s == pytest.approx(known[2] if n >= 4 else 0.0, abs=1e-6)
        assert fit.dof == n + 1 - design.shape[1]


def test_of_two_steps_each_size_belongs_to_its_own():
    times, levels, upper = some_holds(n=9, scatter=0.0)
    first, last = float(times[2]) + 1, float(times[5]) + 1
    levels = levels + 30 * (times > first) - 80 * (times > last)
    for sizes in ((30.0, np.inf), (np.inf, -80.0), (30.0, -80.0)):
        steps = [
            Step(at, 0.0 if np.isinf(size) else size, np.inf if np.isinf(size) else 0.01)
            for at, size in zip((first, last), sizes, strict=True)
        ]
        fit = fit_levels(times, levels, upper, tuple(steps))
        assert fit.end_play == pytest.approx(60, abs=1e-6)
        assert np.abs(fit.residuals).max() < 1e-6
