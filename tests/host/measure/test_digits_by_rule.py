"""The likelihood of the digits, said again in plain sums, and what must not change it."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise
from statistics import median_high

import numpy as np
import pytest
from scipy.special import ndtr

from host.measure.situations import one_of
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.digits import digits_end_play
from rockhold.measure.visits import Visit

GRID, STRANGE = 0.04, 1e-4


def sigma_by_the_rule(groups, least, most):
    """Return the pooled deviation less what rounding adds, within two limits (all in digits)."""
    squares = sum(sum((c - np.mean(g)) ** 2 for c in g) for g in groups)
    variance = squares / max(sum(len(g) - 1 for g in groups), 1)
    return min(max((variance - min(1 / 12, variance / 2)) ** 0.5, least), most)


def side_by_the_rule(groups, axis, rocked):
    """Return places on a side, as numbers of grid points, and their weights for each scatter."""
    means = [sum(g) / len(g) for g in groups]
    first, last = (min(means) - 1.2) / GRID, (max(means) + 1.2) / GRID
    places = np.arange(int(np.floor(first)), int(np.ceil(last)) + 1)
    digit_mm = axis.digit * axis.step_mm
    sigma = sigma_by_the_rule(groups, *((0.05, 3.0) if rocked else (0.03, 0.6)))
    looks = min(1.0, (2.0 if rocked else 0.4) * axis.spacing_s)  # of each reading
    logs = []
    for group in groups:
        log = np.zeros(len(places))
        for count, many in Counter(group).items():
            shown = ndtr((count + 0.5 - GRID * places) / sigma)
            shown = np.maximum(shown - ndtr((count - 0.5 - GRID * places) / sigma), 1e-6)
            log += looks * many * np.log(shown)
        logs.append(log)
    sides = []
    for scatter_mm in (0.0015,) if rocked else (0.0003, 0.001, 0.0025):
        spread = max(scatter_mm / digit_mm, 0.6 * GRID)
        about = np.exp(-(((places[:, None] - places) * GRID / spread) ** 2) / 2)
        about /= about.sum(axis=1)[:, None]  # where visits to each place come to rest
        rests = [about @ np.exp(log - log.max()) for log in logs]
        sides.append(sum(np.log(rest + 1e-12) for rest in rests))
    # What all lose alike is of no matter: only the shares of the scatters are, and of the places.
    peaks = sum(log.max() for log in logs)
    return places, [side + peaks for side in sides]


def difference_by_the_rule(groups, axis, rocked=False):
    """Return {difference: probability} of upper less lower."""
    (below, lower), (above, upper) = (side_by_the_rule(side, axis, rocked) for side in groups)
    tops = [max(map(np.max, side)) for side in (lower, upper)]
    total = sum(
        np.outer(np.exp(low - tops[0]), np.exp(up - tops[1]))
        for low, up in zip(lower, upper, strict=True)
    )
    apart = above[None, :] - below[:, None]
    found = np.bincount((apart - apart.min()).ravel(), weights=total.ravel())
    return normal({int(apart.min()) + i: weight for i, weight in enumerate(found.tolist())})


def normal(density):
    total = sum(density.values())
    return {place: weight / total for place, weight in density.items()}


def blurred_by_the_rule(density, sd):
    """Blur with the density of Student's t of four degrees, cut off at four times its width."""
    reach = int(np.ceil(4 * sd / GRID))
    tail = normal({k: (1 + (k * GRID / sd) ** 2 / 4) ** -2.5 for k in range(-reach, reach + 1)})
    return {
        place: sum(density.get(place - k, 0.0) * share for k, share in tail.items())
        for place in density
    }


def near_by_the_rule(values, reach):
    return [value for value in values if abs(value - median_high(values)) <= reach]


def stretch_by_the_rule(axis, counts, visits, first):
    holds, rocks = ([], []), ([], [])
    for visit in visits:
        hold = counts[visit.hold_first : visit.end]
        rock = counts[max(visit.rock_first, first) : visit.hold_first]
        if len(hold) >= 3:
            holds[visit.upper].append(near_by_the_rule(hold, 2))
        if len(rock) >= 6:
            rocks[visit.upper].append(near_by_the_rule(rock, 6))

    def apart(groups):
        return max(np.ptp([sum(g) / len(g) for g in side]) for side in groups)

    if not all(holds) or apart(holds) > 8:
        return None, False
    density = difference_by_the_rule(holds, axis)
    if not all(rocks) or apart(rocks) > 8:
        return density, False
    rock = difference_by_the_rule(rocks, axis, rocked=True)
    rock = blurred_by_the_rule(rock, 0.0018 / (axis.digit * axis.step_mm))
    return normal({p: w * (rock.get(p, 0.0) + STRANGE) for p, w in density.items()}), True


def end_play_by_the_rule(axis, visits, steps, coverage):
    """Return mean, deviation and half width, and what they came from."""
    counts = [round(count / axis.digit) for count in axis.count.tolist()]
    found, rocked = [], False
    for first, end in pairwise([0, *steps, len(counts)]):
        part = [v for v in visits if v.hold_first >= first and v.end <= end]
        density, by_rocks = stretch_by_the_rule(axis, counts, part, first)
        found += [density] if density else []
        rocked |= by_rocks
    if not found:
        return None, "nothing"
    product = {
        p: w * np.prod([other.get(p, 0.0) + STRANGE for other in found[1:]])
        for p, w in found[0].items()
    }
    density = normal(product)
    mean = sum(GRID * place * weight for place, weight in density.items())
    variance = sum((GRID * place - mean) ** 2 * weight for place, weight in density.items())
    inside = 0.0
    for place in sorted(density, key=lambda place: abs(GRID * place - mean)):
        inside += density[place]
        if inside >= coverage:
            break
    half = abs(GRID * place - mean) + GRID / 2
    kind = "stretches" if len(found) > 1 else "rocks" if rocked else "holds"
    return (mean, (variance + GRID**2 / 12) ** 0.5, half), kind


def some_job(rng, odd=0):
    """Return a coarse coordinate, its visits and where it stepped."""
    digit = one_of(rng, (1.0, 1.0, 1.27))
    step_mm, spacing_s = one_of(rng, (0.01, 0.0127, 0.0254)), one_of(rng, (0.05, 0.1, 0.8, 1.2))
    cycles, play, scatter = int(rng.integers(1, 4)), rng.uniform(0, 9), one_of(rng, (0, 0.1, 3.5))
    tremor = one_of(rng, (0.0, 0.05, 0.3, 2.0))
    swing = 1.0 if odd else one_of(rng, (0.0, 0.4, 1.5, 5.0))
    counts, visits = [], []
    for k in range(2 * cycles):
        upper = bool(k % 2) if rng.random() < 0.95 else True
        level = rng.uniform(-0.5, 0.5) + play * upper + rng.normal(0, scatter)
        rock, hold = int(rng.integers(4, 30)) | odd, int(one_of(rng, (2, 3, 4, 12, 20))) | odd
        exact = level + swing * np.sin(rng.uniform(0.3, 0.9) * np.arange(rock) + k)
        exact = np.concatenate((exact, np.full(hold, level))) + rng.normal(0, tremor, rock + hold)
        exact[int(rng.integers(len(exact)))] += one_of(rng, (0, 0, 40))
        first = len(counts)
        visits.append(Visit(first, first + rock, first + rock + hold, upper))
        counts += np.rint(exact * digit).astype(int).tolist()
    steps = []
    if rng.random() < 0.4:
        visit = visits[len(visits) // 2]
        steps = [int(rng.integers(visit.rock_first, visit.hold_first + 1))]
    n = len(counts)
    axis = Coordinate(spacing_s * np.arange(n), np.array(counts), step_mm, digit, spacing_s)
    return axis, visits, steps


def test_the_likelihood_in_plain_sums():
    seen = Counter()
    for seed in range(160):
        rng = np.random.default_rng(seed)
        axis, visits, steps = some_job(rng)
        coverage = one_of(rng, (0.9, 0.95, 0.9973))
        told, kind = end_play_by_the_rule(axis, visits, steps, coverage)
        seen[kind] += 1
        got = digits_end_play(axis, visits, steps, coverage)
        assert (got is None) == (told is None), seed
        if got is not None:
            assert (got.end_play, got.u) == pytest.approx(told[:2], rel=1e-6, abs=1e-8), seed
            # On a tie of the coverage either grid point is the last one.
            assert got.half_width == pytest.approx(told[2], abs=1e-6), seed
    assert len(seen) == 4
    assert min(seen.values()) >= 4  # each comes about


def test_where_zero_lies_and_which_way_it_counts_is_of_no_matter():
    for seed in range(40):
        # An odd number of readings has a middle one whichever way they count.
        axis, visits, steps = some_job(np.random.default_rng(seed), odd=1)
        axis = replace(axis, digit=1.0)
        was = digits_end_play(axis, visits, steps, 0.95)
        swapped = [replace(visit, upper=not visit.upper) for visit in visits]
        for got in (
            digits_end_play(replace(axis, count=axis.count + 5000), visits, steps, 0.95),
            digits_end_play(replace(axis, count=-axis.count), swapped, steps, 0.95),
        ):
            assert (got is None) == (was is None), seed
            if got is not None:
                told = (was.end_play, was.u, was.half_width)
                assert (got.end_play, got.u, got.half_width) == pytest.approx(told, abs=2e-3), seed
