"""Excursions, flat stretches and far plateaus, on coordinates made by hand."""

import numpy as np

from rockhold.measure.choice import choose
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.disturb import excursions, flats, frozen
from rockhold.measure.holds import find_holds
from rockhold.procedure.endplay import shipped_limits

LIMITS = shipped_limits()
STEP_MM = 0.00127


def job(spoil=None, cycles=4):
    """Return a coordinate of rocks (3 s) and holds (1.5 s) at 20/s with tremor, maybe spoilt."""
    rng = np.random.default_rng(9)
    values = []
    for k in range(2 * cycles):
        level = 30 if k % 2 == 0 else -30
        t = np.arange(60) / 20
        values += (level + 6 * np.sin(2 * np.pi * 0.9 * t)).tolist() + [level] * 30
    exact = np.array(values) + rng.normal(0, 0.8, len(values))
    if spoil:
        exact = spoil(exact)
    count = np.floor(exact + 0.5).astype(np.int64)
    return Coordinate(np.arange(len(count)) / 20, count, STEP_MM, 1.0, 0.05)


def chosen(axis):
    holds, _ = find_holds(axis, LIMITS)
    return choose(axis, holds)


def test_a_clean_job_shows_nothing():
    axis = job()
    assert not excursions(axis, chosen(axis).holds, 0)
    assert not frozen(axis, chosen(axis))


def test_plunger_in_a_hole():
    def hole(exact):
        exact[300:308] -= 700
        return exact

    found = excursions(job(hole), chosen(job()).holds, 0)
    assert [f.code for f in found] == ["plunger_dropped"]
    assert found[0].at_s == 15.0


def test_wild_reading():
    def wild(exact):
        exact[300] -= 700
        return exact

    assert not excursions(job(wild), chosen(job()).holds, 0)


def test_hanging_plunger_is_lost_contact():
    def hang(exact):
        exact[300:400] = -900
        return exact

    assert [f.code for f in excursions(job(hang), chosen(job()).holds, 0)] == ["contact_lost"]


def test_a_short_excursion_that_stands_still_is_a_hole_or_the_free_stop():
    def stand(exact):
        exact[300:325] = -900
        return exact

    found = excursions(job(stand), chosen(job()).holds, 0)
    assert {f.code for f in found} == {"plunger_dropped", "contact_lost"}


def test_frozen_gauge():
    def freeze(exact):
        exact[200:320] = exact[200]
        return exact

    axis = job(freeze)
    assert "gauge_frozen" in [f.code for f in frozen(axis, chosen(axis))]
    assert flats(axis)[0].first in (199, 200)
