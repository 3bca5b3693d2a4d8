"""Holds and counts drawn at random about the bounds of the rules, for tests against plain ones."""

import numpy as np

from rockhold.measure.choice import Choice
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold

# step in mm, digit in steps: a fine gauge, one that changed its unit, three coarse ones
GAUGES = ((0.00127, 1.0), (0.00127, 7.874), (0.01, 1.0), (0.0127, 1.0), (0.0254, 1.0))
LENGTHS_S = (0.4, 0.9, 1.05, 1.25, 1.45, 1.55, 1.8, 2.1, 2.6)
SPREADS = (0.0, 0.02, 0.05, 0.07, 0.1, 0.2, 0.3, 0.4)


def one_of(rng, values):
    """Return one of some values."""
    return values[int(rng.integers(len(values)))]


def some_levels(rng, n, digit):
    """Return levels of two sides in turn, with scatter, and which of them are the upper one."""
    apart = rng.uniform(1, 90)
    upper = (np.arange(n) + int(rng.integers(2))) % 2 == 0
    if rng.random() < 0.3:
        upper = rng.random(n) < 0.5
    levels = np.where(upper, apart / 2, -apart / 2) + rng.normal(0, one_of(rng, (0, 0.5, 3)), n)
    at = int(rng.integers(1, n))
    if rng.random() < 0.6:  # one side comes inward for good
        side = rng.random() < 0.5
        moved = upper[at:] == side
        levels[at:][moved] += (-1 if side else 1) * rng.uniform(0.2, 1.5) * max(12, 2 * digit)
    if rng.random() < 0.3:  # one hold lies elsewhere
        levels[int(rng.integers(n))] = rng.uniform(-1, 1) * one_of(rng, (apart, 100, 700))
    return levels, upper


def some_holds(rng, levels, digit, spacing_s=0.05):
    """Return holds with these levels, one after the other."""
    holds, t_s = [], 3.0
    for level in levels.tolist():
        length_s = one_of(rng, LENGTHS_S)
        first, end = round(t_s / spacing_s), round((t_s + length_s) / spacing_s)
        spread, rocked = one_of(rng, SPREADS) * digit, bool(rng.random() < 0.7)
        holds.append(Hold(first, end, t_s, t_s + length_s, level, spread, end - first, rocked))
        t_s += length_s + rng.uniform(0.3, 4)
    return holds


def situation(seed, most=9):
    """Return a coordinate (its counts are of no matter), holds, and a choice of them."""
    rng = np.random.default_rng(seed)
    step_mm, digit = one_of(rng, GAUGES)
    n = int(rng.integers(2, most + 1))
    levels, upper = some_levels(rng, n, digit)
    holds = some_holds(rng, levels, digit)
    chosen = rng.random(n) < one_of(rng, (0.5, 0.8, 1.0))
    choice = Choice(
        tuple(hold for hold, taken in zip(holds, chosen, strict=True) if taken),
        upper[chosen],
        bool(rng.random() < 0.9),
        0,
    )
    count = np.zeros(holds[-1].end, dtype=np.int64)
    return Coordinate(0.05 * np.arange(len(count)), count, step_mm, digit, 0.05), holds, choice
