"""The slope of end play over time, against statsmodels' weighted least squares."""

from math import inf

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from rockhold.library.growth import DAYS_PER_YEAR, growth_of

DAYS = [0.0, 91.0, 190.0, 280.0, 365.0, 460.0]
U_MM = [0.003, 0.004, 0.003, 0.006, 0.003, 0.003]


def wls(days, value, u):
    return sm.WLS(value, sm.add_constant(np.asarray(days)), weights=1 / np.asarray(u) ** 2)


def test_where_the_scatter_is_large_it_gives_the_uncertainty(
    value=(0.05, 0.09, 0.04, 0.11, 0.06, 0.12),
):
    growth = growth_of(DAYS, value, U_MM)
    # statsmodels' default: the scale is estimated from the residuals, Student's t.
    fitted = wls(DAYS, value, U_MM).fit()
    assert growth.slope_mm_per_year == pytest.approx(fitted.params[1] * DAYS_PER_YEAR, rel=1e-9)
    low, high = fitted.conf_int(0.05)[1] * DAYS_PER_YEAR
    assert growth.expanded_mm_per_year == pytest.approx((high - low) / 2, rel=1e-9)
    assert growth.chi_squared / growth.dof == pytest.approx(fitted.scale, rel=1e-9)
    assert not growth.grows


def test_where_the_scatter_is_small_the_measurements_own_uncertainties_do():
    value = [0.05 + 0.02 * day / DAYS_PER_YEAR for day in DAYS]
    growth = growth_of(DAYS, value, U_MM)
    fixed = wls(DAYS, value, U_MM).fit(cov_type="fixed scale", cov_kwds={"scale": 1.0})
    half = 1.959963984540054 * fixed.bse[1] * DAYS_PER_YEAR
    assert growth.expanded_mm_per_year == pytest.approx(half, rel=1e-9)
    assert growth.slope_mm_per_year == pytest.approx(0.02, rel=1e-9)
    assert growth.grows
    assert growth.line_mm(DAYS[-1]) == pytest.approx(value[-1], rel=1e-9)


def test_a_wheel_end_that_does_not_grow_is_seldom_said_to():
    rng = np.random.default_rng(20)
    runs, false = 2000, 0
    for _ in range(runs):
        growth = growth_of(DAYS, 0.07 + rng.normal(0.0, U_MM), U_MM)
        false += growth.grows
    # At most 2.5 %, as the docstring says; the binomial's 99.9 % bound allows for chance.
    assert 0 < false <= stats.binom.ppf(0.999, runs, 0.025)


def test_too_few_or_all_at_one_time_say_nothing():
    assert growth_of([0.0, 9.0], [0.1, 0.2], [0.01, 0.01]) is None
    assert growth_of([5.0] * 3, [0.1, 0.2, 0.3], [0.01] * 3) is None


def test_three_points_need_more_than_a_lucky_line():
    growth = growth_of([0, 100, 200], [0.050, 0.0501, 0.0502], [0.004] * 3)
    assert growth.dof == 1
    assert not growth.grows
    assert growth.expanded_mm_per_year < inf
