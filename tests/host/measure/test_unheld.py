"""Rocking to the last moment against holding, on coordinates made by hand."""

import numpy as np

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold
from rockhold.measure.unheld import tail_of, unheld, visits_by_level, visits_without
from rockhold.procedure.endplay import shipped_limits

LIMITS = shipped_limits()


def job(hold_s, visits=6):
    """Return visits of 5 s, rocked but for the last hold_s, at 20/s with quick tremor."""
    rng = np.random.default_rng(2)
    t = np.arange(100) / 20
    values = []
    for k in range(visits):
        swing = np.where(t < 5 - hold_s, 6 * np.sin(2 * np.pi * 0.8 * t), 0.0)
        values += ((40 if k % 2 == 0 else -40) + swing).tolist()
    count = np.rint(np.array(values) + rng.normal(0, 0.5, len(values))).astype(np.int64)
    axis = Coordinate(np.arange(len(count)) / 20, count, 0.00127, 1.0, 0.05)
    span = Hold(0, len(count), 0.0, len(count) / 20, 0.0, 0.0, len(count))
    return axis, (span,)


def test_visits():
    axis, holds = job(1.5)
    assert len(visits_by_level(axis, holds)) == 6
    assert visits_by_level(axis, ()) == []


def test_held_wheel():
    axis, holds = job(1.5)
    assert unheld(axis, holds, LIMITS) == []


def test_never_held():
    axis, holds = job(0.0)
    assert [f.code for f in unheld(axis, holds, LIMITS)] == ["no_hold"]


def test_held_too_short():
    axis, holds = job(0.75)
    found = [f.code for f in unheld(axis, holds, LIMITS)]
    assert found in (["no_hold", "short_hold"], [])


def test_visits_without_a_hold_are_named():
    axis, _ = job(1.5)
    first = Hold(75, 98, 3.75, 4.85, 40.0, 0.5, 23)
    last = Hold(575, 598, 28.75, 29.85, -40.0, 0.5, 23)
    assert len(visits_without(axis, (first, last), LIMITS)) == 4


def test_rocking_that_does_not_show_is_not_named():
    still = np.repeat(np.tile([40, -40], 3), 100)
    axis = Coordinate(np.arange(600) / 20, still, 0.01, 1.0, 0.05)
    span = Hold(0, 600, 0.0, 30.0, 0.0, 0.0, 600)
    assert unheld(axis, (span,), LIMITS) == []


def test_tremor_alone_is_not_rocking():
    rng = np.random.default_rng(3)
    count = np.repeat(np.tile([40, -40], 3), 100) + np.rint(rng.normal(0, 1.5, 600)).astype(int)
    axis = Coordinate(np.arange(600) / 20, count, 0.00127, 1.0, 0.05)
    span = Hold(0, 600, 0.0, 30.0, 0.0, 0.0, 600)
    assert unheld(axis, (span,), LIMITS) == []


def test_a_short_visit_cannot_be_judged():
    axis, _ = job(1.5)
    assert tail_of(axis, 0, 30, 1.0) is None
