"""Steps of the coordinate on levels made by hand."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise
from statistics import median

import numpy as np
import pytest

from host.measure.situations import GAUGES, one_of, some_holds
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import HANDLING_MM, Hold
from rockhold.measure.press import pressed_at
from rockhold.measure.steps import (
    _both_sides_moved,
    _left_alone,
    _spreads,
    find_step,
    steady_holds,
    without_step,
    zero_candidates,
)


def holds_at(levels, every=100, length=30):
    """Return a coordinate that jumps from level to level, and its holds."""
    n = every * len(levels)
    count = np.repeat(np.array(levels, dtype=np.int64), every)
    t_s = np.arange(n) * 0.05
    holds = []
    for i, level in enumerate(levels):
        end = (i + 1) * every - 2
        first = end - length
        holds.append(Hold(first, end, t_s[first], t_s[end - 1], float(level), 0.3, length, True))
    return Coordinate(t_s, count, 0.00127, 1.0, 0.05), holds


def test_two_groups_need_no_step():
    axis, holds = holds_at([50, -40, 50, -40, 51, -40])
    assert find_step(axis, axis.count, holds, 6) is None


def test_knocked_base():
    axis, holds = holds_at([50, -40, 50, 260, 350, 260])
    step = find_step(axis, axis.count, holds, 6)
    assert step.kind == "base_moved"
    assert abs(step.size) == pytest.approx(300, abs=91)
    moved = without_step(axis, step)
    assert len(np.unique(moved.count)) == 2


def test_pressed_zero():
    levels = [50, -40, 50, -40, 50, -40]
    axis, holds = holds_at(levels)
    index = 330  # in the rocking before the fourth hold, where the gauge shows -40
    count = axis.count.copy()
    count[index:] -= count[index]
    pressed = Coordinate(axis.t_s, count, axis.step_mm, 1.0, 0.05)
    at = [hold.first >= index for hold in holds]
    moved = [
        Hold(h.first, h.end, h.start_s, h.end_s, h.level + 40 * later, 0.3, 30, True)
        for h, later in zip(holds, at, strict=True)
    ]
    step = find_step(pressed, pressed.count, moved, 6)
    assert (step.kind, step.index, step.size) == ("zero_pressed", index, 40)
    assert (without_step(pressed, step).count == axis.count).all()


def test_the_wheel_left_alone_is_no_knock():
    axis, holds = holds_at([50, -40, 50, -40, 50, -40, 5])
    assert find_step(axis, axis.count, holds, 6) is None


def test_one_stray_hold_is_no_step():
    axis, holds = holds_at([50, -40, 50, -40, 80, -40, 50, -40])
    assert find_step(axis, axis.count, holds, 6) is None


# --- the rules by their words, hold after hold, on jobs drawn at random ---------------------------


def spread_by_the_rule(levels):
    """Return the least root mean square within two groups of neighbours."""
    ordered = sorted(levels)
    cuts = [(ordered[:at], ordered[at:]) for at in range(1, len(ordered))]
    return (min(off(low) + off(high) for low, high in cuts) / len(ordered)) ** 0.5


def off(values):
    """Return the sum of squares about the mean."""
    mean = sum(values) / len(values)
    return sum((value - mean) ** 2 for value in values)


def steady_by_the_rule(axis, holds):
    if axis.digit * axis.step_mm > 0.004:
        longest = sorted(holds, key=lambda hold: hold.start_s - hold.end_s)[:14]
        kept = [hold for hold in holds if hold in longest]
    else:
        rocked = [hold for hold in holds if hold.rocked]
        kept = rocked if len(rocked) >= 4 else holds
    kept = kept[1:] if len(kept) > 3 and not kept[0].rocked else kept
    kept = kept[:-1] if len(kept) > 3 and not kept[-1].rocked else kept
    return kept[:14]


def motion_by_the_rule(axis, i):
    before = axis.count[max(0, i - 6) : i].tolist()
    return median(abs(b - a) for a, b in pairwise(before)) if len(before) > 1 else 0.0


def zeros_by_the_rule(axis, shown, band):
    count, found = axis.count.tolist(), []
    for i in range(1, len(count)):
        jump = abs(count[i] - count[i - 1])
        if abs(shown[i]) <= max(1, band // 3) and jump >= 2 * axis.digit and jump >= band / 2:
            found.append((i, jump))
    return [i for i, jump in found[:40] if jump > 3 * motion_by_the_rule(axis, i)]


def both_moved_by_the_rule(axis, before, after):
    if not before or not after:
        return False
    if len(before) < 2 or len(after) < 2:
        return True
    return all(abs(end(after) - end(before)) > 0.75 * axis.digit for end in (min, max))


def left_alone_by_the_rule(axis, before, after, size, enough):
    few, others = (before, after) if len(before) <= len(after) else (after, before)
    if len(few) > 2 or len(others) < 3:
        return False
    if min(few) > min(others) + enough and max(few) < max(others) - enough:
        return True
    knock = max(10 * enough, 0.03 / axis.step_mm) <= abs(size) <= HANDLING_MM / axis.step_mm
    return len(few) == 1 and not knock


def shifts_by_the_rule(axis, shown, holds, band, enough):
    """Return what is found, as (kind, index, size); several where two explain it equally well."""
    levels = [hold.level for hold in holds]
    worst = max(1.5 * enough, 0.3 * spread_by_the_rule(levels))
    moved_back = []
    for i in zeros_by_the_rule(axis, shown, band):
        size = int(axis.count[i] - axis.count[i - 1])
        back = [hold.level - size * (hold.first >= i) for hold in holds]
        moved_back.append((spread_by_the_rule(back), i, size))
    if moved_back:
        least, i, size = min(moved_back, key=lambda row: row[0])
        before = [hold.level for hold in holds if hold.first < i]
        after = [hold.level for hold in holds if hold.first >= i]
        if least <= worst and both_moved_by_the_rule(axis, before, after):
            return [("zero_pressed", i, size)]
    if len(levels) < 4:
        return [None]
    rows = []
    for at in range(1, len(levels)):
        for size in {late - early for early in levels[:at] for late in levels[at:]}:
            back = levels[:at] + [level - size for level in levels[at:]]
            rows.append((spread_by_the_rule(back), at, size))
    least = min(row[0] for row in rows)
    best = [row for row in rows if row[0] <= least + 1e-6]
    return [shift_by_the_rule(axis, shown, holds, row, worst, enough) for row in best]


def shift_by_the_rule(axis, shown, holds, row, worst, enough):
    least, at, size = row
    before, after = [h.level for h in holds[:at]], [h.level for h in holds[at:]]
    if least > worst or abs(size) < 4 * enough:
        return None
    if left_alone_by_the_rule(axis, before, after, size, enough):
        return None
    if not both_moved_by_the_rule(axis, before, after):
        return None
    between = (holds[at - 1].end - 1, holds[at].first)
    pressed = pressed_at(axis, shown, between, size, enough)
    if pressed is not None:
        return "zero_pressed", pressed, round(size)
    changes = {i: axis.count[i] - axis.count[i - 1] for i in range(between[0] + 1, between[1] + 1)}
    largest = max(changes, key=lambda i: changes[i] * np.sign(size))
    return "base_moved", largest, round(size)


def steps_by_the_rule(axis, shown, holds, band):
    holds = steady_by_the_rule(axis, holds)
    enough = np.hypot(0.45 * axis.digit, 0.0025 / axis.step_mm)
    levels = [hold.level for hold in holds]
    if len(holds) < 3 or spread_by_the_rule(levels) <= enough:
        return [None]
    found = shifts_by_the_rule(axis, shown, holds, band, enough)
    if None not in found or len(holds) < 6:
        return found
    without = [holds[:i] + holds[i + 1 :] for i in range(len(holds))]
    if min(spread_by_the_rule([h.level for h in part]) for part in without) <= 1.5 * enough:
        return found
    for part in without:
        found += shifts_by_the_rule(axis, shown, part, band, enough)
        if found[-1] is not None:
            break
    return found


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
    if rng.random() < 0.8:
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
    axis = Coordinate(0.05 * np.arange(len(count)), count, step_mm, digit, 0.05)
    return axis, shown, holds, int(rng.integers(1, 9))


def test_the_rules_hold_by_hold():
    seen = Counter()
    for seed in range(320):
        axis, shown, holds, band = some_job(np.random.default_rng(seed))
        assert steady_holds(axis, holds) == steady_by_the_rule(axis, holds), seed
        assert zero_candidates(axis, shown, band) == zeros_by_the_rule(axis, shown, band), seed
        found = find_step(axis, shown, holds, band)
        told = found and (found.kind, found.index, found.size)
        assert told in steps_by_the_rule(axis, shown, holds, band), seed
        seen[found and found.kind] += 1
        if found is None:
            continue
        assert found.at_s == axis.t_s[found.index]
        if found.u < np.inf:
            u = np.hypot(axis.digit / 6**0.5, motion_by_the_rule(axis, found.index))
            assert found.u == pytest.approx(u)
            seen["by a reading"] += 1
    assert len(seen) == 4
    assert min(seen.values()) >= 5  # each comes about


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


def test_levels_that_agree_spread_by_nothing_whatever_their_digits():
    # Sums of decimal fractions round: squares less squares must not come out below nothing.
    rng = np.random.default_rng(8)
    for _ in range(200):
        low, high = rng.uniform(0, 9, 2).round(1)
        rows = np.array([[low, high] * int(rng.integers(2, 7))])
        assert _spreads(rows) == pytest.approx(0.0, abs=1e-6)
