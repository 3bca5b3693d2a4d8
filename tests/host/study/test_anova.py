"""Tables of variance, against certified values and another library."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from statsmodels.formula.api import ols

from rockhold.study.anova import one_way, two_way

# NIST Statistical Reference Datasets, one-way analysis of variance, SiRstv (Ehrstein and Croarkin,
# resistivity of silicon): 5 instruments by 5 measurements; 196 is added to all but the last of I4.
SIRSTV = 196 + np.array([
    [0.3052, 0.1240, 0.1890, 0.2569, 0.3403],
    [0.3042, 0.3825, 0.1669, 0.3257, 0.0422],
    [0.1303, 0.2005, 0.2889, 0.0343, 0.1811],
    [0.2795, 0.1748, 0.1494, 0.1485, -0.0115],
    [0.2119, 0.1051, 0.1850, 0.0052, 0.2090],
])  # fmt: skip


def test_nist_sirstv():
    between, within = one_way(SIRSTV)
    # The certified values; nine digits is what is asked of a set of this level of difficulty.
    assert (between.dof, within.dof) == (4, 20)
    assert between.sum_squares_mm2 == pytest.approx(5.11462616e-2, rel=1e-8)
    assert between.mean_square_mm2 == pytest.approx(1.27865654e-2, rel=1e-8)
    assert within.sum_squares_mm2 == pytest.approx(2.1663656e-1, rel=1e-8)
    assert within.mean_square_mm2 == pytest.approx(1.0831828e-2, rel=1e-8)
    assert between.f == pytest.approx(1.18046237440255, rel=1e-9)
    assert np.sqrt(within.mean_square_mm2) == pytest.approx(0.104076068334656, rel=1e-9)
    share = between.sum_squares_mm2 / (between.sum_squares_mm2 + within.sum_squares_mm2)
    assert share == pytest.approx(0.190999039051129, rel=1e-9)


@pytest.mark.parametrize("shape", [(3, 10, 3), (2, 2, 2), (4, 5, 2)])
def test_two_way_as_statsmodels_has_it(shape):
    rng = np.random.default_rng(7)
    values = (
        0.08 + rng.normal(0, 0.02, (1, shape[1], 1)) + rng.normal(0, 0.004, (shape[0], 1, 1))
        + rng.normal(0, 0.003, (*shape[:2], 1)) + rng.normal(0, 0.002, shape)
    )  # fmt: skip
    frame = pd.DataFrame(
        [(i, j, values[i, j, k]) for i, j, k in np.ndindex(shape)], columns=["who", "at", "y"]
    )
    table = sm.stats.anova_lm(ols("y ~ C(who) * C(at)", frame).fit())
    person, wheel_end, both, repeat = two_way(values)
    for line, name in (
        (person, "C(who)"), (wheel_end, "C(at)"), (both, "C(who):C(at)"), (repeat, "Residual"),
    ):  # fmt: skip
        assert line.dof == table.df[name]
        assert line.sum_squares_mm2 == pytest.approx(table.sum_sq[name], rel=1e-9)
    # statsmodels tests all against the residual (fixed effects); ours are random effects, so that
    # only the interaction's test is the same.
    assert both.f == pytest.approx(table.F["C(who):C(at)"], rel=1e-9)
    assert both.p == pytest.approx(table["PR(>F)"]["C(who):C(at)"], rel=1e-9)
    assert person.f == pytest.approx(
        table.mean_sq["C(who)"] / table.mean_sq["C(who):C(at)"], rel=1e-9
    )


def test_equal_trials_test_nothing():
    person, wheel_end, both, repeat = two_way(np.ones((2, 3, 2)))
    assert repeat.sum_squares_mm2 == 0
    assert (person.f, wheel_end.f, both.f) == (None, None, None)
