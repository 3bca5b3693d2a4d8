"""Steps of the coordinate: the rules by their words, hold after hold, on jobs drawn at random."""

from collections import Counter
from dataclasses import replace
from itertools import combinations, pairwise
from statistics import median

import numpy as np
import pytest

from host.measure.situations import GAUGES, one_of, some_holds
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import HANDLING_MM
from rockhold.measure.press import pressed_at
from rockhold.measure.steps import (
    _both_sides_moved,
    _left_alone,
    find_step,
    stands_out,
    steady_holds,
    stood,
    zero_candidates,
)


def spread_by_the_rule(levels, weights):
    """Return the least weighted root mean square within two groups of neighbours."""
    rows = sorted(zip(levels, weights, strict=True))
    cuts = [(rows[:at], rows[at:]) for at in range(1, len(rows))]
    return (min(off(low) + off(high) for low, high in cuts) / sum(weights)) ** 0.5


def off(rows):
    """Return the weighted sum of squares about the weighted mean."""
    mean = sum(level * weight for level, weight in rows) / sum(weight for _, weight in rows)
    return sum(weight * (level - mean) ** 2 for level, weight in rows)


def times_of(holds):
    """Return how long each was held; beyond 1.2 s it does not count."""
    return [min(hold.end_s - hold.start_s, 1.2) + 0.001 for hold in holds]


def spread_of(holds, *presses):
    """Return how the levels spread once (reading, size) of some steps are taken out."""
    levels = [hold.level - sum(size for i, size in presses if hold.first >= i) for hold in holds]
    return spread_by_the_rule(levels, times_of(holds))


def tolerance_of(axis):
    return ((0.45 * axis.digit) ** 2 + (0.0025 / axis.step_mm) ** 2) ** 0.5


def worst_of(axis, holds):
    return max(1.5 * tolerance_of(axis), 0.3 * spread_of(holds))


def steady_by_the_rule(axis, holds):
    if axis.digit * axis.step_mm > 0.004:
        longest = sorted(holds, key=lambda hold: hold.start_s - hold.end_s)[:14]
        kept = [hold for hold in holds if hold in longest]
    else:
        rocked = [hold.level for hold in holds if hold.rocked]
        kept = list(holds)
        if len(rocked) >= 4:
            reach = max(3 * tolerance_of(axis), 0.012 / axis.step_mm)
            kept = [
                hold
                for hold in holds
                if hold.rocked
                or hold.level < min(rocked) - reach
                or hold.level > max(rocked) + reach
            ]
    opens = bool(kept) and kept[0].start_s - axis.t_s[0] < 0.7  # nothing was done before it
    for end in (0, -1):
        others = [hold.level for hold in kept if hold is not kept[end]]
        if len(kept) > 3 and not kept[end].rocked:
            anywhere = end == 0 and opens
            if anywhere or min(others) <= kept[end].level <= max(others):
                kept.pop(end)
    return kept[:14]


def motion_by_the_rule(axis, i):
    before = axis.count[max(0, i - 6) : i].tolist()
    return median(abs(b - a) for a, b in pairwise(before)) if len(before) > 1 else 0.0


def stands_out_by_the_rule(axis, i, size):
    """Return whether a jump is at least twice the changes just before and after it."""
    count = axis.count.tolist()
    if i < 2 or i + 1 >= len(count):
        return True
    beside = (abs(count[i - 1] - count[i - 2]), abs(count[i + 1] - count[i]))
    return abs(size) >= 2 * max(beside)


def stood_by_the_rule(axis, i):
    """Return whether 0.2 s before a jump and 0.2 s after it nothing moves beyond the bend."""
    count = axis.count.tolist()
    many = max(3, round(0.2 / axis.spacing_s))
    before, after = count[max(0, i - many) : i], count[i : i + many]
    bend = max(axis.digit, 0.3 * abs(count[i] - count[i - 1]))
    return len(after) >= 3 and all(max(part) - min(part) <= bend for part in (before, after))


def zeros_by_the_rule(axis, shown, band):
    count, found = axis.count.tolist(), []
    least = max(2.5 * axis.digit, 0.005 / axis.step_mm, band / 2)
    for i in range(1, len(count)):
        jump = abs(count[i] - count[i - 1])
        at_zero = abs(shown[i]) <= max(1, band // 3)
        if at_zero and jump >= least and stands_out_by_the_rule(axis, i, jump):
            found.append((i, jump))
    return [i for i, jump in found[:40] if jump > 3 * motion_by_the_rule(axis, i)]


def both_moved_by_the_rule(axis, before, after):
    if not before or not after:
        return False
    if len(before) < 2 or len(after) < 2:
        return True
    return all(abs(end(after) - end(before)) > 0.75 * axis.digit for end in (min, max))


def parts_at(holds, i):
    """Return the levels before a reading and those from it on."""
    return (
        [hold.level for hold in holds if hold.first < i],
        [hold.level for hold in holds if hold.first >= i],
    )


def left_alone_by_the_rule(axis, before, after, size, enough):
    few, others = (before, after) if len(before) <= len(after) else (after, before)
    if len(others) < 3:
        return False
    one_place = max(few) - min(few) < 0.6 * (max(others) - min(others))
    if one_place and min(others) + enough < min(few) and max(few) < max(others) - enough:
        return True
    knock = max(10 * enough, 0.03 / axis.step_mm) <= abs(size) <= HANDLING_MM / axis.step_mm
    return len(few) == 1 and not knock


def jump_at(axis, i):
    return i, int(axis.count[i] - axis.count[i - 1])


def presses_by_the_rule(axis, holds, zeros, standing):
    """Return (kind, index, size) of the zero, or of the first of two, that explains the levels."""
    alone = [i for i in zeros if both_moved_by_the_rule(axis, *parts_at(holds, i))]
    for presses in ([(i,) for i in alone], list(combinations(standing, 2))):
        rows = [(spread_of(holds, *(jump_at(axis, i) for i in some)), some) for some in presses]
        if rows and min(rows)[0] <= worst_of(axis, holds):
            return [
                ("zero_pressed", *jump_at(axis, some[0]))
                for left, some in rows
                if left <= min(rows)[0] + 1e-6
            ]
    return []


def shifts_by_the_rule(axis, shown, holds):
    """Return what is found, as (kind, index, size); several where two explain it equally well."""
    if len(holds) < 4:
        return [None]
    levels, times = [hold.level for hold in holds], times_of(holds)
    rows = []
    for at in range(1, len(levels)):
        for size in {late - early for early in levels[:at] for late in levels[at:]}:
            back = levels[:at] + [level - size for level in levels[at:]]
            rows.append((spread_by_the_rule(back, times), at, size))
    least = min(row[0] for row in rows)
    best = [row for row in rows if row[0] <= least + 1e-6]
    return [shift_by_the_rule(axis, shown, holds, row) for row in best]


def shift_by_the_rule(axis, shown, holds, row):
    least, at, size = row
    enough = tolerance_of(axis)
    before, after = [h.level for h in holds[:at]], [h.level for h in holds[at:]]
    if least > worst_of(axis, holds) or abs(size) < 4 * enough:
        return None
    if left_alone_by_the_rule(axis, before, after, size, enough):
        return None
    if not both_moved_by_the_rule(axis, before, after):
        return None
    between = (holds[at - 1].end - 1, holds[at].first)
    pressed = pressed_at(axis, shown, between, size, enough)
    if pressed is not None and stands_out_by_the_rule(axis, pressed, size):
        return "zero_pressed", pressed, round(size)
    changes = {i: axis.count[i] - axis.count[i - 1] for i in range(between[0] + 1, between[1] + 1)}
    largest = max(changes, key=lambda i: changes[i] * np.sign(size))
    return "base_moved", largest, round(size)


def steps_by_the_rule(axis, shown, holds, band):
    """Return by which way a step is found, and what: any of these."""
    holds = steady_by_the_rule(axis, holds)
    if len(holds) < 3 or spread_of(holds) <= tolerance_of(axis):
        return "agree", [None]
    zeros = zeros_by_the_rule(axis, shown, band)
    standing = [i for i in zeros if stood_by_the_rule(axis, i)][:8]
    without = [holds[:i] + holds[i + 1 :] for i in range(len(holds))] if len(holds) > 5 else []
    found = presses_by_the_rule(axis, holds, zeros, standing)
    if found:
        return "pressed", found
    if any(spread_of(part) <= 1.5 * tolerance_of(axis) for part in without):
        return "one stray", shifts_by_the_rule(axis, shown, holds)
    for part in without:
        found = presses_by_the_rule(axis, part, standing, standing)
        if found:
            return "pressed, but for one", found
    found = shifts_by_the_rule(axis, shown, holds)
    if None not in found:
        return "shifted", found
    found = [step for step in found if step is not None]  # where two explain it equally well
    for part in without:
        left = shifts_by_the_rule(axis, shown, part)
        # The one that was left out may show that a side stayed.
        found += [
            step if both_moved_by_the_rule(axis, *parts_at(holds, step[1])) else None
            for step in left
            if step is not None
        ]
        if None not in left:
            return "shifted, but for one", found
    return "nothing", [*found, None]


def some_job(rng):
    """Return a coordinate of a job that may have stepped, what the gauge showed, holds, a band."""
    step_mm, digit = one_of(rng, GAUGES)
    n = one_of(rng, (3, 4, 5, 6, 6, 7, 7, 8)) if rng.random() < 0.97 else 16
    scatter = one_of(rng, (0.1, 0.3, 1)) * digit
    apart = rng.uniform(2, 25) * max(digit, 3)
    levels = np.where(np.arange(n) % 2 == 0, apart, 0) + rng.normal(0, scatter, n)
    holds = some_holds(rng, levels, digit)
    count = np.zeros(holds[-1].end, dtype=np.float64)
    places = [at for hold in holds for at in (hold.first, hold.end - 1)]
    count = np.interp(np.arange(len(count)), places, np.repeat(levels, 2))
    count += rng.normal(0, one_of(rng, (0, 0.3, 2)), len(count)) * digit
    count = np.rint(count).astype(np.int64)
    size, shown = 0, count - round(rng.uniform(-1, 1) * apart)
    for _ in range(one_of(rng, (0, 1, 1, 1, 2))):
        k = int(rng.integers(1, n))
        at = int(rng.integers(holds[k - 1].end, holds[k].first + 1))
        size = round(rng.uniform(-1.5, 1.5) * (apart + 5 * digit))
        shown[at:] -= shown[at] - int(rng.integers(-2, 3))
        size = size if rng.random() < 0.5 else int(shown[at] - shown[at - 1] - rng.integers(2))
        count[at:] += size
        stays = rng.random() < 0.4  # one side does not follow
        for i in range(k, n):
            moved = 0 if stays and i % 2 else size
            holds[i] = replace(holds[i], level=holds[i].level + moved)
    if rng.random() < 0.3:
        i = int(rng.integers(n))
        holds[i] = replace(holds[i], level=rng.uniform(-0.5, 1.5) * apart)
    since_s = one_of(rng, (0.0, 2.2, 2.5))  # the holds begin at 3 s
    axis = Coordinate(since_s + 0.05 * np.arange(len(count)), count, step_mm, digit, 0.05)
    return axis, shown, holds, int(rng.integers(1, 9))


WAYS = (
    ("agree", None),
    ("pressed", "zero_pressed"),
    ("one stray", None),
    ("one stray", "base_moved"),
    ("pressed, but for one", "zero_pressed"),
    ("shifted", "base_moved"),
    ("shifted", "zero_pressed"),
    ("shifted, but for one", "base_moved"),
    ("nothing", None),
)


def test_the_rules_hold_by_hold():
    seen = Counter()
    for seed in range(240):
        axis, shown, holds, band = some_job(np.random.default_rng(seed))
        assert steady_holds(axis, holds) == steady_by_the_rule(axis, holds), seed
        assert zero_candidates(axis, shown, band) == zeros_by_the_rule(axis, shown, band), seed
        found = find_step(axis, shown, holds, band)
        told = found and (found.kind, found.index, found.size)
        way, steps = steps_by_the_rule(axis, shown, holds, band)
        assert told in steps, seed
        seen[way, found and found.kind] += 1
        if found is None:
            continue
        assert found.at_s == axis.t_s[found.index]
        if found.u < np.inf:
            u = np.hypot(axis.digit / 6**0.5, motion_by_the_rule(axis, found.index))
            assert found.u == pytest.approx(u)
            seen["by a reading"] += 1
    assert min(seen[way] for way in (*WAYS, "by a reading")) >= 5  # each comes about


def test_whether_a_jump_stands_alone_reading_by_reading():
    seen = Counter()
    for case in range(400):
        rng = np.random.default_rng([case, 2])
        n, digit = int(rng.integers(4, 14)), one_of(rng, (1.0, 7.874))
        count = np.rint(np.cumsum(rng.normal(0, one_of(rng, (0.5, 2, 8)), n))).astype(int)
        count[int(rng.integers(1, n)) :] += int(rng.integers(5, 40))
        spacing_s = one_of(rng, (0.02, 0.04, 0.05, 0.1))
        axis = Coordinate(spacing_s * np.arange(n), count, 0.00127, digit, spacing_s)
        for i in range(1, n):
            size = one_of(rng, (-10, 10, count[i] - count[i - 1]))
            assert stood(axis, i) == stood_by_the_rule(axis, i), (case, i)
            assert stands_out(axis, i, size) == stands_out_by_the_rule(axis, i, size), (case, i)
            seen[stood(axis, i), stands_out(axis, i, size)] += 1
    assert len(seen) == 4
    assert min(seen.values()) > 40


def test_both_sides_must_move_and_the_wheel_left_alone_does_not_count():
    rng = np.random.default_rng(6)
    moved = alone = 0
    for case in range(3000):
        step_mm, digit = one_of(rng, GAUGES)
        axis = Coordinate(np.zeros(1), np.zeros(1, dtype=np.int64), step_mm, digit, 0.05)
        n = int(rng.integers(2, 8))
        at = int(rng.integers(n + 1))
        levels = rng.choice([0.0, 9.0], n) * digit + rng.normal(0, digit, n)
        levels[at:] += rng.normal(0, one_of(rng, (0.3, 1, 30))) * digit
        before, after = levels[:at].tolist(), levels[at:].tolist()
        both = _both_sides_moved(axis, levels, np.arange(n) >= at)
        assert both == both_moved_by_the_rule(axis, before, after), case
        moved += both
        if 0 < at < n:
            size, enough = rng.normal(0, one_of(rng, (20, 60, 400))), rng.uniform(0.2, 3) * digit
            left = _left_alone(axis, levels, at, size, enough)
            assert left == left_alone_by_the_rule(axis, before, after, size, enough), case
            alone += left
    assert 500 < moved < 2500
    assert alone > 200
