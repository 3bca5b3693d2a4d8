"""Whether the end play of a wheel end grows: a weighted straight line, with its uncertainty.

Each measurement weighs 1/u². The uncertainty of the slope is the larger of two: the one that
follows from the measurements' own uncertainties, and the one that the scatter about the line shows
(with n - 2 degrees of freedom). So neither a lucky line through few points nor optimistic
uncertainties give a warning. What is common to all measurements (the same indicator's error) is not
taken off, which makes the interval wider than need be, never narrower.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from scipy import stats

FEWEST = 3
DAYS_PER_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Growth:
    """The slope of end play over time.

    Attributes:
        slope_mm_per_year: Of the weighted line.
        expanded_mm_per_year: Half of its 95 % interval.
        at_mm: The line's value at `at_days`.
        at_days: The weighted mean of the times.
        chi_squared: Weighted sum of squares about the line.
        dof: n - 2.
    """

    slope_mm_per_year: float
    expanded_mm_per_year: float
    at_mm: float
    at_days: float
    chi_squared: float
    dof: int

    @property
    def grows(self) -> bool:
        """Whether the whole 95 % interval lies above zero: at most 2.5 % of false warnings."""
        return self.slope_mm_per_year > self.expanded_mm_per_year

    def line_mm(self, days: float) -> float:
        """Return the line's value at a time in days."""
        return self.at_mm + self.slope_mm_per_year * (days - self.at_days) / DAYS_PER_YEAR


def growth_of(
    t_days: Sequence[float], end_play_mm: Sequence[float], u_mm: Sequence[float]
) -> Growth | None:
    """Return the slope, or None from fewer than three measurements or one single time.

    Args:
        t_days: Times, in days from any zero.
        end_play_mm: End play.
        u_mm: Standard uncertainty of each, above zero.

    Source: weighted least squares with known uncertainties; the scatter is judged by the reduced
        chi-squared (Birge's ratio). Checked against statsmodels' WLS with and without fixed scale.
    """
    days, value, u = (np.asarray(x, dtype=np.float64) for x in (t_days, end_play_mm, u_mm))
    if len(days) < FEWEST:
        return None
    weight = 1.0 / u**2
    mean_days = float(np.average(days, weights=weight))
    mean_mm = float(np.average(value, weights=weight))
    spread = float(np.sum(weight * (days - mean_days) ** 2))
    if spread <= 0.0:
        return None
    slope = float(np.sum(weight * (days - mean_days) * (value - mean_mm))) / spread
    rest = value - mean_mm - slope * (days - mean_days)
    chi_squared = float(np.sum(weight * rest**2))
    dof = len(days) - 2
    known = float(stats.norm.ppf(0.975))
    shown = float(stats.t.ppf(0.975, dof)) * sqrt(chi_squared / dof)
    return Growth(
        slope_mm_per_year=slope * DAYS_PER_YEAR,
        expanded_mm_per_year=max(known, shown) / sqrt(spread) * DAYS_PER_YEAR,
        at_mm=mean_mm,
        at_days=mean_days,
        chi_squared=chi_squared,
        dof=dof,
    )
