"""Lost contact, on coordinates made by hand."""

import numpy as np
import pytest

from host.measure.jobs import METRIC, codes, measured
from host.measure.test_disturb import LIMITS, chosen, job
from rockhold.measure.contact import flat_between, one_side_changed, without_far
from rockhold.measure.holds import find_holds
from rockhold.measure.stop import stopped


def test_a_clean_job_shows_nothing():
    axis = job()
    holds, _ = find_holds(axis, LIMITS)
    assert stopped(axis, chosen(axis)) == ([], False)
    assert not one_side_changed(axis, holds, chosen(axis))
    assert not flat_between(axis, holds, chosen(axis))
    assert without_far(axis, holds) == (holds, [])


def test_free_stop():
    axis = job(lambda exact: np.maximum(exact, -22))
    assert [f.code for f in stopped(axis, chosen(axis))[0]] == ["contact_lost"]


def test_far_plateau_is_taken_out():
    def away(exact):
        exact[-60:] = -2500
        return exact

    holds, _ = find_holds(job(away), LIMITS)
    near, found = without_far(job(away), holds)
    assert len(near) == len(holds) - 1
    assert [f.code for f in found] == ["contact_lost"]


def test_a_side_that_moves_inward_for_good():
    def late_stop(exact):
        exact[300:] = np.maximum(exact[300:], -12)
        return exact

    axis = job(late_stop)
    holds, _ = find_holds(axis, LIMITS)
    found = one_side_changed(axis, holds, chosen(axis)) or flat_between(axis, holds, chosen(axis))
    assert [f.code for f in found or stopped(axis, chosen(axis))[0]] == ["contact_lost"]


@pytest.mark.parametrize("seed", [50074, 50101, 50200, 50284])
def test_a_side_that_was_once_deeper_stands_at_the_stop_since(seed):
    # The first visit is whole, all later ones to that side stop short; the wheel left alone before
    # the work happens to rest where the stop is.
    result = measured(METRIC, seed, "contact_lost")[2]
    assert "contact_lost" in codes(result)
    assert result.verdict != "accept"
