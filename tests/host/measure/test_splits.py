"""The best parting of a stretch, against a plain search over all of them."""

import numpy as np
import pytest
import ruptures
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.datasets import nile

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.splits import best_split, sums_of


def axis_of(count):
    count = np.asarray(count, dtype=np.int64)
    return Coordinate(np.arange(len(count)) * 0.05, count, 0.00127, 1.0, 0.05)


def gains(count):
    """Return the log likelihood gained at each index, by direct evaluation of the variances."""
    n = len(count)
    whole = n * np.log(count.var() + 1 / 12)
    return {
        k: 0.5
        * (
            whole
            - k * np.log(count[:k].var() + 1 / 12)
            - (n - k) * np.log(count[k:].var() + 1 / 12)
        )
        for k in range(2, n - 1)
    }


@given(st.lists(st.integers(-30, 30), min_size=8, max_size=40))
def test_equal_to_a_plain_search(values):
    count = np.array(values)
    axis = axis_of(count)
    cut = best_split(axis, sums_of(axis.count), 0, len(count))
    gained = gains(count)
    best = max(gained.values())
    if best > 5.001:
        assert gained[cut] == pytest.approx(best)
    elif best < 4.999:
        assert cut == 0


def test_nile():
    # A step after 1898 (index 28), as ruptures and the literature have it.
    flow = nile.load_pandas().data["volume"].to_numpy()
    axis = axis_of(np.rint(flow))
    cut = best_split(axis, sums_of(axis.count), 0, 100)
    assert abs(cut - 28) <= 1
    known = ruptures.KernelCPD(kernel="linear", min_size=2).fit(flow).predict(n_bkps=1)[0]
    assert abs(known - 28) <= 1


def test_constant_stretch_and_part_of_a_trace():
    axis = axis_of([9] * 30 + [0] * 20 + [6] * 20)
    sums = sums_of(axis.count)
    assert best_split(axis, sums, 0, 30) == 0
    assert best_split(axis, sums, 30, 70) == 50
    assert best_split(axis, sums, 60, 65) == 60
