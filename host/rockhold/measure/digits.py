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

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

GRID = 0.04  # spacing of the grid, in digits
MARGIN = 1.2  # how far beyond the holds' levels the grid goes, in digits
SCATTERS_MM = (0.0004, 0.0009, 0.0018)  # τ: how differently holds of one side come to rest
ROCK_SCATTER_MM = 0.002  # τ_r: how differently the means of two rocks lie
ASYMMETRY_MM = 0.0016  # standard deviation of the difference of m between the sides
TREMOR_HZ = 8.0  # independent looks per second in a hold
SWING_HZ = 3.0  # independent looks per second while rocking
LONGEST_HOLD_S = 2.0  # of a long quiet stretch, the last part; before it the wheel was rocked
CHANGE_S = 0.45  # time to change sides: not used
UNSEATED_SHARE = 0.35  # first part of a rock, while the rollers still seat: not used


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit to a side: indexes of the rocking and of the hold (end exclusive)."""

    rock_first: int
    hold_first: int
    end: int
    upper: bool


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


def visits_of(axis: Coordinate, holds: tuple[Hold, ...], upper: NDArray[np.bool_]) -> list[Visit]:
    """Return the visits that end with each hold."""
    visits = []
    before_s = float(axis.t_s[0])
    for hold, side in zip(holds, upper, strict=True):
        start_s = max(hold.start_s, hold.end_s - LONGEST_HOLD_S)
        rocked_s = start_s - (before_s + CHANGE_S)
        rock_s = start_s - (1 - UNSEATED_SHARE) * min(max(rocked_s, 0.0), 5.0)
        first, hold_first = np.searchsorted(axis.t_s, [rock_s, start_s])
        visits.append(Visit(int(first), int(hold_first), hold.end, bool(side)))
        before_s = hold.end_s
    return visits


def _log_likelihood(values: Ints, grid: Floats, sigma: float, weight: float) -> Floats:
    """Return the log likelihood of rounded readings, for each centre on the grid."""
    low = int(values.min())
    many = np.bincount(values - low)
    edges = low - 0.5 + np.arange(len(many) + 1)
    below = ndtr((edges[:, None] - grid) / sigma)
    cells = np.maximum(np.diff(below, axis=0), 1e-4 / sigma * 0 + 1e-6)
    out: Floats = weight * (many @ np.log(cells))
    return out


def _sigma(groups: list[Ints], least: float, most: float) -> float:
    """Return the pooled standard deviation of groups of readings, kept inside two limits."""
    squares = sum(float(((g - g.mean()) ** 2).sum()) for g in groups)
    n = sum(len(g) - 1 for g in groups)
    # Rounding adds about 1/12 where there is enough spread; below, little can be said.
    variance = squares / max(n, 1)
    return float(np.sqrt(min(max(variance - min(1 / 12, 0.5 * variance), least**2), most**2)))


def _smoothed(likelihood: Floats, kernel: Floats) -> Floats:
    """Return exp(log likelihood) rows convolved with a symmetric kernel matrix, as logarithms."""
    peak = likelihood.max(axis=1, keepdims=True)
    out: Floats = np.log(np.exp(likelihood - peak) @ kernel + 1e-12) + peak
    return out


def _kernel(grid: Floats, sd: float) -> Floats:
    apart = (grid[:, None] - grid[None, :]) / max(sd, 0.6 * GRID)
    weights = np.exp(-0.5 * apart**2)
    return weights / weights.sum(axis=0)


def _hold_logs(values: list[Ints], grid: Floats, axis: Coordinate, digit_mm: float) -> Floats:
    """Return the log likelihood of a side's place from its holds, for each τ: shape (τ, grid)."""
    sigma = _sigma(values, 0.06, 0.6)
    weight = min(1.0, TREMOR_HZ * axis.spacing_s)
    rows = np.array([_log_likelihood(v, grid, sigma, weight) for v in values])
    return np.array(
        [_smoothed(rows, _kernel(grid, tau / digit_mm)).sum(axis=0) for tau in SCATTERS_MM]
    )


def _rock_logs(values: list[Ints], grid: Floats, axis: Coordinate, digit_mm: float) -> Floats:
    """Return the log likelihood of a side's mean place while rocking: shape (grid,)."""
    sigma = _sigma(values, 0.15, 3.0)
    weight = min(1.0, SWING_HZ * axis.spacing_s)
    rows = np.array([_log_likelihood(v, grid, sigma, weight) for v in values])
    out: Floats = _smoothed(rows, _kernel(grid, ROCK_SCATTER_MM / digit_mm)).sum(axis=0)
    return out


def digits_end_play(
    axis: Coordinate, visits: list[Visit], coverage: float
) -> DigitsResult | None:
    """Return the end play from the digits, or None without readings on both sides.

    The density of E is that of the difference of two independent sides, summed over τ; the
    rocking enters as a second pair of sides whose difference is E, too, within ASYMMETRY_MM.
    """
    counts = np.rint(axis.count / axis.digit).astype(np.int64)
    digit_mm = axis.digit * axis.step_mm
    holds: dict[bool, list[Ints]] = {True: [], False: []}
    rocks: dict[bool, list[Ints]] = {True: [], False: []}
    for visit in visits:
        if visit.end - visit.hold_first >= 3:
            holds[visit.upper].append(counts[visit.hold_first : visit.end])
        if visit.hold_first - visit.rock_first >= 8:
            rocks[visit.upper].append(counts[visit.rock_first : visit.hold_first])
    if not holds[True] or not holds[False]:
        return None
    by_tau, low, high = _difference(holds, axis, digit_mm, _hold_logs)
    scale, density = low, _normal(by_tau.sum(axis=0))
    if rocks[True] and rocks[False]:
        rock, rock_low, _ = _difference(rocks, axis, digit_mm, _rock_logs)
        blurred = _blurred(_normal(rock[0]), ASYMMETRY_MM / digit_mm)
        shift = round((rock_low - low) / GRID)
        density = _normal(density * (_shifted(blurred, shift, len(density)) + 1e-4))
    plays = scale + GRID * np.arange(len(density))
    mean = float(density @ plays)
    u = float(np.sqrt(density @ (plays - mean) ** 2 + GRID**2 / 12))
    away = np.abs(plays - mean)
    order = np.argsort(away, kind="stable")
    inside = np.cumsum(density[order])
    half = float(away[order][min(int(np.searchsorted(inside, coverage)), len(away) - 1)])
    return DigitsResult(mean, u, max(half, GRID))


def _difference(groups, axis, digit_mm, logs):  # type: ignore[no-untyped-def]
    grids, sides = [], []
    for upper in (False, True):
        values = groups[upper]
        means = [v.mean() for v in values]
        first = np.floor((min(means) - MARGIN) / GRID)
        last = np.ceil((max(means) + MARGIN) / GRID)
        grid = GRID * np.arange(first, last + 1)
        side = np.atleast_2d(logs(values, grid, axis, digit_mm))
        grids.append(grid)
        sides.append(side)
    peak = [side.max() for side in sides]
    rows = [
        np.convolve(np.exp(upper - peak[1]), np.exp(lower - peak[0])[::-1])
        for lower, upper in zip(sides[0], sides[1], strict=True)
    ]
    return np.array(rows), grids[1][0] - grids[0][-1], 0.0


def _normal(density: Floats) -> Floats:
    out: Floats = density / density.sum()
    return out


def _blurred(density: Floats, sd: float) -> Floats:
    half = int(np.ceil(4 * sd / GRID))
    x = GRID * np.arange(-half, half + 1)
    # A little Student-like tail: now and then a rock is not like the others.
    kernel = (1 + (x / sd) ** 2 / 4) ** -2.5
    return np.convolve(density, kernel / kernel.sum(), mode="same")


def _shifted(density: Floats, shift: int, length: int) -> Floats:
    out = np.zeros(length)
    first, end = max(0, shift), min(length, shift + len(density))
    if end > first:
        out[first:end] = density[first - shift : end - shift]
    return out
