"""How well two groups explain levels, after shifts of the later ones."""

import numpy as np
import pytest

from rockhold.measure.holds import Hold
from rockhold.measure.levels import Levels


def levels_by_hand(level, weight=None, first=None):
    n = len(level)
    weight = np.ones(n) if weight is None else np.asarray(weight, dtype=np.float64)
    first = 10 * np.arange(n) if first is None else np.asarray(first)
    return Levels(np.asarray(level, dtype=np.float64), weight, first)


def spread_by_the_rule(level, weight):
    """Return the least weighted root mean square within two groups of neighbours."""
    rows = sorted(zip(level, weight, strict=True))
    parted = [off(rows[:at]) + off(rows[at:]) for at in range(1, len(rows))]
    return (min(parted) / sum(weight)) ** 0.5


def off(rows):
    """Return the weighted sum of squares about the weighted mean."""
    mean = sum(level * weight for level, weight in rows) / sum(weight for _, weight in rows)
    return sum(weight * (level - mean) ** 2 for level, weight in rows)


def test_of_three_levels_the_two_nearest_are_one_group():
    # By hand: 0 and 2 about their mean 1 are 2 squares; 9 alone is none; of three.
    assert levels_by_hand([9, 0, 2]).spread() == pytest.approx((2 / 3) ** 0.5)
    # The mean of 0 (three times as long) and 2 is 0.5: 3·0.25 + 2.25 = 3 squares; of five.
    assert levels_by_hand([9, 0, 2], [1, 3, 1]).spread() == pytest.approx((3 / 5) ** 0.5)


def test_the_longer_a_hold_the_more_it_counts_but_not_beyond_the_asked_time():
    holds = [
        Hold(10 * k, 10 * k + 9, 4.0 * k, 4.0 * k + long_s, level, 0.0, 9)
        for k, (level, long_s) in enumerate([(50, 1.1), (7, 0.5), (-50, 1.2), (50, 30.0)])
    ]
    levels = Levels.of(holds)
    assert levels.level.tolist() == [50, 7, -50, 50]
    assert levels.weight == pytest.approx([1.1, 0.5, 1.2, 1.2], abs=0.002)
    assert levels.first.tolist() == [0, 10, 20, 30]


def test_steps_move_all_that_comes_from_their_reading_on():
    levels = levels_by_hand([50, -40, 80, -10, 20, -70])
    assert levels.from_on(20).tolist() == [False, False, True, True, True, True]
    assert levels.from_on(21).tolist() == [False, False, False, True, True, True]
    assert levels.spread() > 10
    assert levels.spread((20, 30)) > 10
    assert levels.spread((20, 30), (40, -60)) == pytest.approx(0, abs=1e-9)
    assert levels.spread((11, 30), (31, -60)) == pytest.approx(0, abs=1e-9)
    assert levels.level.tolist() == [50, -40, 80, -10, 20, -70]  # they stay as they are


def test_the_best_shift():
    at, size, spread = levels_by_hand([50, -40, 50, 260, 350, 260]).best_shift()
    assert (at, spread) == (3, pytest.approx(0, abs=1e-9))
    assert size in (210, 300)  # either makes them two


def test_the_best_shift_of_all_that_any_two_levels_suggest():
    rng = np.random.default_rng(2)
    for case in range(60):
        n = int(rng.integers(2, 7))
        level = rng.choice([0.0, 9.0], n) + rng.normal(0, 1, n)
        level[int(rng.integers(1, n)) :] += rng.normal(0, 20)
        weight = rng.uniform(0.5, 3, n)
        rows = []
        for at in range(1, n):
            for size in [late - early for early in level[:at] for late in level[at:]]:
                moved = np.where(np.arange(n) >= at, level - size, level)
                rows.append((spread_by_the_rule(moved, weight), at, size))
        levels = levels_by_hand(level, weight)
        assert levels.spread() == pytest.approx(spread_by_the_rule(level, weight), abs=1e-6), case
        at, size, spread = levels.best_shift()
        assert spread == pytest.approx(min(rows)[0], abs=1e-6), case
        assert any(
            (at, size) == (row[1], pytest.approx(row[2])) for row in rows if row[0] <= spread + 1e-6
        ), case


def test_levels_that_agree_spread_by_nothing_whatever_their_digits():
    # Sums of decimal fractions round: squares less squares must not come out below nothing.
    rng = np.random.default_rng(8)
    for _ in range(200):
        low, high = rng.uniform(0, 9, 2).round(1)
        levels = levels_by_hand([low, high] * int(rng.integers(2, 7)))
        assert levels.spread() == pytest.approx(0.0, abs=1e-6)


def test_a_large_reading_keeps_its_digits():
    assert levels_by_hand([1e9, 1e9 + 2, 1e9 + 90]).spread() == pytest.approx((2 / 3) ** 0.5)
