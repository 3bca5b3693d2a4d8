"""A side that shows nothing but the gauge's noise, while the other one shows rocking."""

from math import log

import numpy as np
import pytest

from host.measure.jobs import LIMITS
from rockhold.measure import still
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import find_holds
from rockhold.measure.still import Stay, stays_of, still_side


def job(
    seed, *, stop=None, since=0, noise=0.45, swing=5.0, half=12.0, visits=8, tilt=0.0, seat=0.3
):
    """Return a job in counts of a fine gauge; from a visit on it cannot go below the stop."""
    rng = np.random.default_rng(seed)
    parts = [np.zeros(20)]
    for k in range(visits):
        t = np.arange(100) / 20 + rng.uniform(0, 0.05)
        side = half * (1 if k % 2 == 0 else -1)
        face = swing * np.sin(2 * np.pi * 0.9 * t + tilt) - swing * np.sin(tilt)
        exact = side * (1 - seat * np.exp(-t / 0.5)) + face * (t < 3.2)
        parts.append(np.maximum(exact, stop) if stop is not None and k >= since else exact)
    exact = np.concatenate(parts)
    count = np.rint(exact + rng.normal(0, noise, len(exact))).astype(np.int64)
    return Coordinate(np.arange(len(count)) / 20, count, 0.00127, 1.0, 0.05)


def told(axis, sign=1):
    turned = Coordinate(axis.t_s, sign * axis.count, axis.step_mm, 1.0, axis.spacing_s)
    found, doubt = still_side(turned, find_holds(turned, LIMITS)[0])
    return (found[0].code, found[0].at_s) if found else doubt


@pytest.mark.parametrize("noise", [0.0, 0.15, 0.45])
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("stop", [-0.4, -5.5])
def test_a_side_at_its_stop_is_told_whatever_the_gauges_noise(noise, sign, stop):
    for seed in range(6):
        code, at_s = told(job(seed, stop=stop, noise=noise), sign)
        assert code == "contact_lost"
        # With the first visit to that side; the opening rest may lie as near to the stop.
        assert 5.5 < at_s < 7.5 or (stop > -1 and at_s == 0)


@pytest.mark.parametrize("noise", [0.0, 0.15, 0.45])
@pytest.mark.parametrize("tilt", [0.0, 1.5, -1.5])
def test_both_sides_of_a_good_job_move(noise, tilt):
    for seed in range(12):
        for swing in (0.0, 0.8, 3.0, 8.0):
            axis = job(seed, noise=noise, swing=swing, tilt=tilt, visits=6)
            assert told(axis) is False, (seed, swing)


def test_contact_lost_in_the_middle_of_the_work_is_told_from_there_on():
    code, at_s = told(job(3, stop=-4.5, since=4, visits=10))
    assert code == "contact_lost"
    assert 25.5 < at_s < 27.5  # the third visit to the lower side


def test_where_rocking_does_not_show_nothing_is_told():
    # Both sides stand still: nobody can say which of them follows.
    axis = job(1, stop=-5.5, swing=0.0, noise=0.3, seat=0.0)
    assert told(axis) is False


def evidence_by_the_rule(stays, looks):
    """Return the most evidence, counted reading by reading."""
    most = 0.0
    for upper in (True, False):
        same = [s.readings.tolist() for s in stays if s.upper is upper]
        others = [s.readings.tolist() for s in stays if s.upper is not upper]
        if len(same) < 2 or len(others) < 2:
            continue
        if stays[0].upper is not upper and len(others) > 2:
            others = others[1:]
        n_b = sum(map(len, others))
        for width in (1, 2, 3):
            b = 0
            for counts in others:
                places = range(min(counts) - 3, max(counts) + 1)
                b += len(counts) - max(sum(p <= c < p + width for c in counts) for p in places)
            for first in range(len(same) - 1):
                later = [c for counts in same[first:] for c in counts]
                a, n_a = sum(c <= max(later) - width for c in later), len(later)
                if a / n_a > 0.5 * b / n_b or (looks * a + 0.25) / n_a >= (looks * b + 0.25) / n_b:
                    continue
                x, y, n, m = looks * a + 0.25, looks * b + 0.25, looks * n_a, looks * n_b
                both = (x + y) / (n + m)
                most = max(most, x * log(x / n / both) + y * log(y / m / both))
    return most


def test_the_rule_reading_by_reading(monkeypatch):
    seen = set()
    for seed in range(120):
        rng = np.random.default_rng(seed)
        stays = []
        for k in range(int(rng.integers(3, 9))):
            slow = rng.integers(-int(rng.integers(1, 7)), 1, int(rng.integers(8, 60)))
            upper = bool(k % 2)
            if upper and rng.random() < 0.8:
                slow = np.where(rng.random(len(slow)) < 0.1, slow, -rng.integers(0, 2, len(slow)))
            stays.append(Stay(upper, float(k), 10 + slow.astype(np.int64)))
        monkeypatch.setattr(still, "stays_of", lambda axis, holds, least_s, stays=stays: stays)
        axis = Coordinate(np.zeros(2), np.zeros(2, dtype=np.int64), 0.00127, 1.0, 0.05)
        most = evidence_by_the_rule(stays, 0.2)
        found, doubt = still_side(axis, [])
        assert (bool(found), doubt) == (most >= 3.5, most >= 2.0), seed
        seen.add((bool(found), doubt))
    assert seen == {(False, False), (False, True), (True, True)}


def test_stays_are_found_without_a_hold_on_one_of_the_sides():
    axis = job(2, stop=-4.5)
    holds, _ = find_holds(axis, LIMITS)
    lower = [hold for hold in holds if hold.level < 0]
    stays = stays_of(axis, lower, 0.8)
    assert [stay.upper for stay in stays] == [False, True, False, True, False, True, False][
        -len(stays) :
    ]
    assert stays_of(axis, [], 0.8) == []
