"""End play from a coarse gauge: where between two counts does each side lie?

A mean of rounded readings knows nothing finer than the count unless the readings dither. But a
level that never dithers is not near an edge, one that does lies on it, rests of the same side
differ a little from cycle to cycle, and rocking sweeps the face's runout across the edges. All
of that is in one likelihood:

    hold of visit k:   count = round(level_k + tremor),   level_k ~ N(side, τ²)
    rock of visit k:   count = round(side + m + swing),   visit means ~ N(side + m, τ_r²)

where `m` is the mean height of the face while rocking above its height at the stop. It is nearly
the same pulled out and pushed in, because the wheel is rocked about the same angle: the two sides'
m differ by N(0, ASYMMETRY_MM²). Sides are flat a priori. τ takes three values, weighed by how
well they explain the holds. Everything is summed on a grid; no sampling, no iteration.

Interval likelihood of rounded data: see e.g. R. Willink, Metrologia 44 (2007) 73.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.visits import Visit

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
SideLogs = Callable[[list[Ints], Floats, float, float], Floats]

GRID = 0.04  # spacing of the grid, in digits
MARGIN = 1.2  # how far beyond the holds' levels the grid goes, in digits
SCATTERS_MM = (0.0003, 0.001, 0.0025)  # τ: how differently holds of one side come to rest
ROCK_SCATTER_MM = 0.0015  # τ_r: how differently the means of two rocks lie
ASYMMETRY_MM = 0.0018  # standard deviation of the difference of m between the sides
TREMOR_HZ = 0.4  # independent looks per second in a hold: a hand wanders slowly
SWING_HZ = 2.0  # the same while rocking: each stroke there and each one back
FEWEST_HOLD, FEWEST_ROCK = 3, 6  # readings
WIDEST = 8.0  # digits; holds of one side further apart are no matter of digits
STRANGE = 1e-4  # floor of a density's weight: now and then one is wrong altogether


@dataclass(frozen=True, slots=True)
class DigitsResult:
    """End play from the likelihood, in digits of the gauge.

    Attributes:
        end_play: Mean of the distribution.
        u: Its standard deviation.
        half_width: Half the width of the symmetric interval about the mean that has the coverage.
    """

    end_play: float
    u: float
    half_width: float


def _log_likelihood(values: Ints, grid: Floats, sigma: float, weight: float) -> Floats:
    """Return the log likelihood of rounded readings, for each centre on the grid."""
    low = int(values.min())
    many = np.bincount(values - low)
    edges = low - 0.5 + np.arange(len(many) + 1)
    below = ndtr((edges[:, None] - grid) / sigma)
    cells = np.maximum(np.diff(below, axis=0), 1e-6)
    return np.asarray(weight * (many @ np.log(cells)), dtype=np.float64)


def _squares(values: Ints) -> float:
    """Return the sum of squares about the mean; exact, since counts are whole numbers."""
    from_first = values - values[0]
    total = int(from_first.sum())
    return int(from_first @ from_first) - total * total / len(values)


def _sigma(groups: list[Ints], least: float, most: float) -> float:
    """Return the pooled standard deviation of groups of readings, kept inside two limits."""
    squares = sum(_squares(g) for g in groups)
    n = sum(len(g) - 1 for g in groups)
    # Rounding adds about 1/12 where there is enough spread; below, little can be said.
    variance = squares / max(n, 1)
    return float(np.sqrt(min(max(variance - min(1 / 12, 0.5 * variance), least**2), most**2)))


def _smoothed(likelihood: Floats, kernel: Floats) -> Floats:
    """Return exp(log likelihood) rows convolved with a symmetric kernel matrix, as logarithms."""
    peak = likelihood.max(axis=1, keepdims=True)
    return np.asarray(np.log(np.exp(likelihood - peak) @ kernel + 1e-12) + peak, dtype=np.float64)


@lru_cache(maxsize=256)
def _kernel(points: int, sd_mm: float, digit_mm: float) -> Floats:
    """Return the matrix that blurs a density on a grid of so many points."""
    places = GRID * np.arange(points)
    apart = (places[:, None] - places[None, :]) / max(sd_mm / digit_mm, 0.6 * GRID)
    weights = np.exp(-0.5 * apart**2)
    return np.asarray(weights / weights.sum(axis=0), dtype=np.float64)


def _hold_logs(values: list[Ints], grid: Floats, spacing_s: float, digit_mm: float) -> Floats:
    """Return the log likelihood of a side's place from its holds, for each τ: shape (τ, grid)."""
    sigma = _sigma(values, 0.03, 0.6)
    weight = min(1.0, TREMOR_HZ * spacing_s)
    rows = np.array([_log_likelihood(v, grid, sigma, weight) for v in values])
    return np.array(
        [_smoothed(rows, _kernel(len(grid), tau, digit_mm)).sum(axis=0) for tau in SCATTERS_MM]
    )


def _rock_logs(values: list[Ints], grid: Floats, spacing_s: float, digit_mm: float) -> Floats:
    """Return the log likelihood of a side's mean place while rocking: shape (1, grid)."""
    sigma = _sigma(values, 0.05, 3.0)
    weight = min(1.0, SWING_HZ * spacing_s)
    rows = np.array([_log_likelihood(v, grid, sigma, weight) for v in values])
    kernel = _kernel(len(grid), ROCK_SCATTER_MM, digit_mm)
    out: Floats = _smoothed(rows, kernel).sum(axis=0, keepdims=True)
    return out


def digits_end_play(
    axis: Coordinate, visits: list[Visit], steps: list[int], coverage: float
) -> DigitsResult | None:
    """Return the end play from the digits, or None without readings on both sides.

    Args:
        axis: The coordinate, without its steps.
        visits: The visits, in the order of time.
        steps: Indexes of readings where a step of the coordinate was taken out: before and after
            it the digits' edges lie elsewhere, so each stretch gives a density of its own.
        coverage: Coverage probability of the half width.
    """
    counts = np.rint(axis.count / axis.digit).astype(np.int64)
    densities = []
    for first, end in pairwise([0, *steps, len(counts)]):
        part = [visit for visit in visits if first <= visit.hold_first and visit.end <= end]
        density = _density(axis, counts, part, first)
        if density is not None:
            densities.append(density)
    if not densities:
        return None
    return _summary(_product(densities), coverage)


@dataclass(frozen=True, slots=True)
class _Density:
    """Probability of the end play at start + i·GRID, in digits; `start` counts grid points."""

    start: int
    weights: Floats

    def at(self, start: int, length: int) -> Floats:
        """Return the weights on another stretch of the grid, zero where nothing is known."""
        out = np.zeros(length)
        first = max(start, self.start)
        end = min(start + length, self.start + len(self.weights))
        if end > first:
            out[first - start : end - start] = self.weights[first - self.start : end - self.start]
        return out


def _density(axis: Coordinate, counts: Ints, visits: list[Visit], first: int) -> _Density | None:
    """Return the density of E from visits between two steps.

    It is that of the difference of two independent sides, summed over τ; the rocking enters as a
    second pair of sides whose difference is E, too, within ASYMMETRY_MM.
    """
    digit_mm = axis.digit * axis.step_mm
    holds: tuple[list[Ints], list[Ints]] = ([], [])
    rocks: tuple[list[Ints], list[Ints]] = ([], [])
    for visit in visits:
        rock_first = max(visit.rock_first, first)
        if visit.end - visit.hold_first >= FEWEST_HOLD:
            holds[visit.upper].append(_near(counts[visit.hold_first : visit.end], 2))
        if visit.hold_first - rock_first >= FEWEST_ROCK:
            rocks[visit.upper].append(_near(counts[rock_first : visit.hold_first], 6))
    if not holds[0] or not holds[1] or max(map(_width, holds)) > WIDEST:
        return None
    density = _difference(holds, axis.spacing_s, digit_mm, _hold_logs)
    if rocks[0] and rocks[1] and max(map(_width, rocks)) <= WIDEST:
        rock = _difference(rocks, axis.spacing_s, digit_mm, _rock_logs)
        blurred = _Density(rock.start, _blurred(rock.weights, ASYMMETRY_MM / digit_mm))
        other = blurred.at(density.start, len(density.weights))
        density = _Density(density.start, _normal(density.weights * (other + STRANGE)))
    return density


def _near(values: Ints, reach: int) -> Ints:
    """Return the readings near their middle one: no wild reading, no plunger in a hole."""
    middle = np.sort(values)[len(values) // 2]
    return np.asarray(values[np.abs(values - middle) <= reach], dtype=np.int64)


def _width(values: list[Ints]) -> float:
    """Return how far the groups of readings of one side lie apart, in digits."""
    means = [v.sum() / len(v) for v in values]
    return float(max(means) - min(means))


def _difference(
    groups: tuple[list[Ints], list[Ints]], spacing_s: float, digit_mm: float, logs: SideLogs
) -> _Density:
    """Return the density of upper less lower, each side flat a priori on its grid."""
    starts, sides = [], []
    for values in groups:
        means = [v.sum() / len(v) for v in values]
        start = int(np.floor((min(means) - MARGIN) / GRID))
        grid = GRID * np.arange(start, int(np.ceil((max(means) + MARGIN) / GRID)) + 1)
        starts.append(start)
        sides.append(logs(values, np.asarray(grid, dtype=np.float64), spacing_s, digit_mm))
    lower, upper = (np.exp(side - side.max()) for side in sides)
    total = np.zeros(lower.shape[1] + upper.shape[1] - 1)
    for low, up in zip(lower, upper, strict=True):
        total += np.convolve(up, low[::-1])
    return _Density(starts[1] - starts[0] - lower.shape[1] + 1, _normal(total))


def _product(densities: list[_Density]) -> _Density:
    first = densities[0]
    weights: Floats = first.weights
    for other in densities[1:]:
        weights = weights * (other.at(first.start, len(weights)) + STRANGE)
    return _Density(first.start, _normal(weights))


def _summary(density: _Density, coverage: float) -> DigitsResult:
    plays = GRID * (density.start + np.arange(len(density.weights)))
    mean = float(density.weights @ plays)
    u = float(np.sqrt(density.weights @ (plays - mean) ** 2 + GRID**2 / 12))
    away = np.abs(plays - mean)
    order = np.argsort(away, kind="stable")
    inside = np.cumsum(density.weights[order])
    half = float(away[order][min(int(np.searchsorted(inside, coverage)), len(away) - 1)])
    return DigitsResult(mean, u, half + 0.5 * GRID)


def _normal(density: Floats) -> Floats:
    out: Floats = density / density.sum()
    return out


def _blurred(density: Floats, sd: float) -> Floats:
    half = int(np.ceil(4 * sd / GRID))
    x = GRID * np.arange(-half, half + 1)
    # A little Student-like tail: now and then a rock is not like the others.
    kernel = (1 + (x / sd) ** 2 / 4) ** -2.5
    return np.convolve(density, kernel / kernel.sum(), mode="same")
