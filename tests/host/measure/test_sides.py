"""Two groups of levels, as IEEE 181 finds the two states of a pulse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockhold.measure.sides import spread_within, upper_group


def by_force(levels):
    ordered = np.sort(levels)
    best = None
    for cut in range(1, len(ordered)):
        low, high = ordered[:cut], ordered[cut:]
        cost = ((low - low.mean()) ** 2).sum() + ((high - high.mean()) ** 2).sum()
        if best is None or cost < best[0] - 1e-9:
            best = cost, cut
    return best[0]


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=10, unique=True))
def test_least_squares_parting_is_exact(values):
    levels = np.array(values)
    upper = upper_group(levels)
    cost = len(levels) * spread_within(levels, upper) ** 2
    assert cost == pytest.approx(by_force(levels), abs=1e-6)


def test_state_levels_of_a_two_level_record():
    # IEEE 181, state levels: each level is the mean of its half of the histogram.
    rng = np.random.default_rng(1)
    record = np.where(np.arange(400) % 100 < 50, 2.0, 7.0) + rng.normal(0, 0.1, 400)
    upper = upper_group(record)
    assert record[upper].mean() == pytest.approx(7, abs=0.03)
    assert record[~upper].mean() == pytest.approx(2, abs=0.03)


def test_weights_count():
    levels = np.array([0.0, 1.0, 2.0, 3.0])
    assert upper_group(levels, np.array([10.0, 0.1, 0.1, 10.0])).sum() == 2
    assert not upper_group(np.array([4.0])).any()
