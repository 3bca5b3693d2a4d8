"""Rocking to the last moment against holding, on coordinates made by hand."""

from collections import Counter
from dataclasses import replace
from statistics import median, pvariance

import numpy as np
import pytest

from host.measure.situations import GAUGES, one_of
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


def test_a_wheel_that_never_moves_has_no_visits():
    axis = Coordinate(np.arange(100) / 20, np.full(100, 7), 0.00127, 1.0, 0.05)
    assert visits_by_level(axis, (Hold(0, 100, 0.0, 5.0, 7.0, 0.0, 100),)) == []


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


# --- the rules by their words, on jobs drawn at random --------------------------------------------


def mean(values):
    return sum(values) / len(values)


def visits_by_the_rule(axis, holds):
    raw = axis.count.tolist()
    count = [raw[0], *(sorted(raw[i - 1 : i + 2])[1] for i in range(1, len(raw) - 1)), raw[-1]]
    work = sorted(count[holds[0].first : holds[-1].end])
    low, high = work[len(work) * 8 // 100], work[len(work) * 92 // 100]
    far = 2 * (high - low) + 0.05 / axis.step_mm
    groups = []
    for i, c in enumerate(count):
        if c < low - far or c > high + far:
            side = "far"
        elif c > (high + low) / 2 + 0.2 * (high - low):
            side = "upper"
        elif c < (high + low) / 2 - 0.2 * (high - low):
            side = "lower"
        else:
            continue
        if groups and groups[-1][0] == side:
            groups[-1] = (side, groups[-1][1], i)
        else:
            groups.append((side, i, i))
    return [
        (first, last + 1)
        for side, first, last in groups
        if side != "far" and axis.t_s[last] - axis.t_s[first] >= 2.0
    ]


def bins_by_the_rule(axis, part):
    wide_s = max(0.08, 1.2 * axis.spacing_s)
    bins = {}
    for i in part:
        bins.setdefault(int((axis.t_s[i] - axis.t_s[part[0]]) / wide_s), []).append(axis.count[i])
    return [mean(values) / axis.digit for _, values in sorted(bins.items())]


def motion_by_the_rule(values, lag):
    changes = [(b - a) ** 2 for a, b in zip(values, values[lag:], strict=False)]
    return mean(changes) if changes else 0.0


def tail_by_the_rule(axis, first, end, hold_s):
    """Return when it begins, its share, its quick and slow motion, and that of the rest."""
    from_s, until_s = axis.t_s[first] + 0.8, axis.t_s[end - 1] - 0.3
    body = [i for i, t in enumerate(axis.t_s) if from_s <= t < until_s - hold_s]
    tail = [i for i, t in enumerate(axis.t_s) if until_s - hold_s <= t < until_s]
    if len(body) < 6 or len(tail) < 3 or len(bins_by_the_rule(axis, tail)) < 3:
        return None
    b, t = bins_by_the_rule(axis, body), bins_by_the_rule(axis, tail)
    share = ((pvariance(t) + 1e-9) / (pvariance(b) + 1e-9)) ** 0.5
    slow, rest = motion_by_the_rule(t, 3), motion_by_the_rule(b, 3)
    return axis.t_s[tail[0]], share, motion_by_the_rule(t, 1), slow, rest


def middle_half(values):
    cut = len(values) // 4
    return mean(sorted(values)[cut : len(values) - cut])


def codes_by_the_rule(axis, holds, hold_s):
    """Return the codes of `unheld`, and of the visits in which no hold was found."""
    visits = visits_by_the_rule(axis, holds)
    lonely = []
    for first, end in visits:
        if not any(hold.first < end and first < hold.end for hold in holds):
            tail = tail_by_the_rule(axis, first, end, 0.4 * hold_s)
            lonely.append("short_hold" if tail and tail[1] < 0.3 else "no_hold")
    tails = [tail for v in visits if (tail := tail_by_the_rule(axis, *v, 0.8 * hold_s))]
    if len(tails) < 4:
        return [], lonely
    quick, slow = (middle_half([tail[i] for tail in tails]) + 0.02 for i in (2, 3))
    rest = median(tail[4] for tail in tails) + 0.02
    if slow < 1.5 * quick or median(tail[3] for tail in tails) + 0.02 < 0.64 * rest:
        return [], lonely
    late = [tail for v in visits if (tail := tail_by_the_rule(axis, *v, 0.4 * hold_s))]
    calm = late and median(tail[1] for tail in late) < 0.5
    return ["no_hold", "short_hold"] if calm else ["no_hold"], lonely


def some_job(rng):
    """Return rocked visits that are held for some time, and some holds in them."""
    spacing_s, hold_s = one_of(rng, (0.05, 0.08, 0.12)), one_of(rng, (0.6, 1.0, 1.5))
    step_mm, digit = one_of(rng, GAUGES)
    held_s, share = rng.uniform(0, 1.2) * hold_s, rng.uniform(0, 1)
    swing, noise, hz = rng.uniform(0.3, 5) * digit, one_of(rng, (0, 0.3, 1)), rng.uniform(0.4, 1.2)
    apart = rng.uniform(3, 60) * digit
    count, holds, n = [], [], 0
    for visit in range(int(rng.integers(3, 9))):
        t = np.arange(0, rng.uniform(1.4, 5.5), spacing_s)
        rocking = np.where(t < t[-1] - 0.3 - held_s, 1, share)
        level = apart / 2 if visit % 2 else -apart / 2
        count += (level + swing * rocking * np.sin(2 * np.pi * hz * t + visit)).tolist()
        if visit == 0 or rng.random() < 0.8:
            first = n + len(t) // 2
            holds.append(Hold(first, n + len(t), 0.0, 0.0, level, 0.0, 1))
        n += len(t)
    exact = np.array(count) + rng.normal(0, noise, n) * digit
    for _ in range(int(rng.integers(3))):
        exact[int(rng.integers(n)) :][: int(rng.integers(1, 30))] += one_of(rng, (-900, 30, 900))
    t_s = spacing_s * np.arange(n) * rng.uniform(0.9, 1.1)
    axis = Coordinate(t_s, np.rint(exact).astype(np.int64), step_mm, digit, spacing_s)
    return axis, tuple(holds), replace(LIMITS, hold_s=hold_s)


def test_the_rules_visit_by_visit():
    seen = Counter()
    for seed in range(220):
        axis, holds, limits = some_job(np.random.default_rng(seed))
        visits = visits_by_level(axis, holds)
        assert visits == visits_by_the_rule(axis, holds), seed
        for first, end in visits[:3]:
            tail = tail_of(axis, first, end, limits.hold_s)
            told = tail_by_the_rule(axis, first, end, limits.hold_s)
            assert (tail is None) == (told is None), seed
            if tail is not None:
                got = (tail.at_s, tail.share, tail.quick, tail.slow, tail.body_slow)
                assert got == pytest.approx(told, rel=1e-6, abs=1e-9), seed
        found = unheld(axis, holds, limits)
        lonely = visits_without(axis, holds, limits)
        codes = [f.code for f in found], [f.code for f in lonely]
        assert codes == codes_by_the_rule(axis, holds, limits.hold_s), seed
        told = [tail_by_the_rule(axis, *visit, 0.8 * limits.hold_s) for visit in visits]
        assert all(f.at_s == next(filter(None, told))[0] for f in found)
        assert all(f.at_s in {axis.t_s[end - 1] for _, end in visits} for f in lonely)
        seen.update(("unheld", code) for code in codes[0])
        seen.update(("visit", code) for code in codes[1])
    assert len(seen) == 4
    assert min(seen.values()) >= 5  # each comes about
