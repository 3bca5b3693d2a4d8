"""The highest torque of a pull from its readings: scatter averaged, gaps between them estimated.

The largest reading is too large by the scatter (with many readings) and too small by what lies
between two readings (with few). So a parabola is fitted to the readings near the top, over the
longest stretch in which it still agrees with shorter ones (intersection of confidence intervals,
A. Goldenshluger and A. Nemirovski, Math. Methods Stat. 6 (1997) 135). Where the top is a corner, as
at a click, the stretch ends there and the line is drawn on by half a spacing.

With few readings a second the top of a short peak lies between two of them and leaves no trace: it
can only be said how high it may have been if the torque went on rising as before until just before
the next reading. That is `hidden_nm`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_CAP = 0.03  # readings within this share of the largest are near the top
_SCATTER_CAP = 6.0  # or within so many standard deviations of it
_AGREE = 2.0  # standard errors
_FEWEST = 4  # readings that a parabola needs to average anything
_WILD = 0.05  # a lone reading this far above both neighbours is none
_CLOSE_S = 0.025  # at a wider spacing a lone high reading may be all there is of a top
_LOW_RATE_S = 0.03
_NEAR = 0.85  # of the largest: a top that was not seen is not further away than that
_LEAST_SCATTER = 1e-4  # of the peak; digits hide a smaller one


@dataclass(frozen=True, slots=True)
class Top:
    """The highest torque: time in s, torque in N·m, and how much higher it may have been."""

    t_s: float
    torque_nm: float
    hidden_nm: float


def highest(t_s: Floats, torque_nm: Floats, scatter_nm: float) -> Top:
    """Return the highest torque of a pull.

    Args:
        t_s: Time of each reading, in s, rising; at least one.
        torque_nm: Torque of each reading above rest, in N·m.
        scatter_nm: Standard deviation of a reading, in N·m.
    """
    values = _without_wild(t_s, torque_nm)
    at = int(np.argmax(values))
    scatter = max(scatter_nm, _LEAST_SCATTER * float(values[at]))
    low, high = _cap(values, at, scatter)
    gap_s = _gap(t_s, at)
    when, torque = float(t_s[at]), float(values[at])
    if high - low >= _FEWEST - (gap_s > _LOW_RATE_S):
        when, torque = _fitted(t_s, values, at, (low, high), scatter)
    if gap_s > _LOW_RATE_S:
        upper = _unseen(t_s, values, at)
        torque = max(torque, float(values[at]) - _AGREE * scatter)
        if high - low < _FEWEST - 1:
            torque = (torque + max(torque, upper)) / 2
        return Top(when, torque, max(0.0, upper - torque))
    more = _edge(t_s, values, (low, high), at, gap_s)
    return Top(when, torque + more, more)


def _without_wild(t_s: Floats, values: Floats) -> Floats:
    """Return the readings with lone high ones brought down to their higher neighbour."""
    if len(values) < 3:
        return values
    beside = np.maximum(values[:-2], values[2:])
    close = t_s[2:] - t_s[:-2] <= 2 * _CLOSE_S
    out = values.copy()
    wild = close & (values[1:-1] > (1 + _WILD) * beside)
    out[1:-1][wild] = beside[wild]
    return out


def _cap(values: Floats, at: int, scatter: float) -> tuple[int, int]:
    """Return the stretch around the largest reading whose readings are near it."""
    floor = float(values[at]) - max(_CAP * float(values[at]), _SCATTER_CAP * scatter)
    below = np.flatnonzero(values < floor)
    place = int(np.searchsorted(below, at))
    low = int(below[place - 1]) + 1 if place > 0 else 0
    high = int(below[place]) if place < len(below) else len(values)
    return low, high


def _gap(t_s: Floats, at: int) -> float:
    near = t_s[max(0, at - 2) : at + 3]
    return float(np.median(np.diff(near))) if len(near) > 1 else 0.0


def _fitted(
    t_s: Floats, values: Floats, at: int, cap: tuple[int, int], scatter: float
) -> tuple[float, float]:
    """Return time and height of the top by the longest parabola that agrees with shorter ones."""
    low, high = cap
    best = (float(t_s[at]), float(values[at]))
    bounds = (-np.inf, np.inf)
    reach = 2
    while True:
        first, last = max(low, at - reach), min(high, at + reach + 1)
        count = last - first
        if count >= min(_FEWEST, high - low):
            when, torque = _parabola_top(t_s[first:last] - t_s[at], values[first:last])
            spread = _AGREE * scatter * 1.5 / count**0.5  # 9/4 of the variance of a mean
            bounds = (max(bounds[0], torque - spread), min(bounds[1], torque + spread))
            if bounds[0] > bounds[1]:
                return best
            best = (float(t_s[at]) + when, torque)
        if first == low and last == high:
            return best
        reach += max(1, reach // 2)


def _parabola_top(t_s: Floats, values: Floats) -> tuple[float, float]:
    """Return time and height of the highest point of the fitted parabola within the readings."""
    curve, slope, level = (float(x) for x in np.polyfit(t_s, values, 2))
    ends = [float(t_s[0]), float(t_s[-1])]
    if curve < 0 and ends[0] < -slope / (2 * curve) < ends[1]:
        ends.append(-slope / (2 * curve))
    return max(((t, curve * t * t + slope * t + level) for t in ends), key=lambda pair: pair[1])


def _edge(t_s: Floats, values: Floats, cap: tuple[int, int], at: int, gap_s: float) -> float:
    """Return how much a corner at the end of the stretch may rise above its last reading."""
    low, high = cap
    if at < high - 2 or high - low < 3 or high == len(values):
        return 0.0
    part = slice(max(low, high - 8), high)
    slope = float(np.polyfit(t_s[part] - t_s[at], values[part], 1)[0])
    return max(0.0, slope) * gap_s / 2


def _unseen(t_s: Floats, values: Floats, at: int) -> float:
    """Return how high the torque may have been between readings on the way to the largest."""
    top = float(values[at])
    upper = top
    for index in range(at, 0, -1):
        if values[index] < _NEAR * top or index + 1 >= len(values):
            break
        # A pull rises ever slower; a steeper step is the way back from a click.
        rise = min(_slope(t_s, values, index), _slope(t_s, values, max(1, index - 1)))
        width = float(t_s[index + 1] - t_s[index])
        upper = max(upper, float(values[index]) + max(0.0, rise) * width)
    return min(upper, (2 - _NEAR) * top)


def _slope(t_s: Floats, values: Floats, at: int) -> float:
    """Return how fast the torque rose up to a reading."""
    return float((values[at] - values[at - 1]) / (t_s[at] - t_s[at - 1]))
