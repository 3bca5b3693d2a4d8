"""The indicator: lag, sampling, digits, and the unit that it shows."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from rockhold.simulator.motion import GRID_HZ
from rockhold.simulator.scenario import Gauge

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading as the gauge sends it.

    Attributes:
        t_us: Time of the reading, in microseconds.
        count: What it shows, in counts of step_mm.
        unit: "mm" or "in".
        step_mm: One count, in mm.
    """

    t_us: int
    count: int
    unit: str
    step_mm: float


def lagged(travel_mm: Floats, lag_s: float) -> Floats:
    """Return the travel behind a first-order lag, in mm."""
    if lag_s <= 0:
        return travel_mm
    share = 1 - np.exp(-1 / (GRID_HZ * lag_s))
    start = [(1 - share) * travel_mm[0]]
    out: Floats = lfilter([share], [1, share - 1], travel_mm, zi=start)[0]
    return out


def sample_times(length_s: float, gauge: Gauge, rng: np.random.Generator) -> Floats:
    """Return the times of the readings, in seconds: about `rate_hz`, with the gauge's jitter."""
    n = int(length_s * gauge.rate_hz * 1.2) + 10
    spacing = 1 / gauge.rate_hz
    steps = np.clip(rng.normal(spacing, gauge.jitter * spacing, n), 0.2 * spacing, None)
    times = np.cumsum(steps)
    times = times[times < length_s - 1 / GRID_HZ]
    if gauge.lost:
        times = times[rng.random(len(times)) >= gauge.lost]
    return times


def digits(travel_mm: Floats, step_mm: float, rounding: str) -> Ints:
    """Return what the display shows, in counts."""
    scaled = travel_mm / step_mm
    if rounding == "nearest":
        return np.floor(scaled + 0.5).astype(np.int64)
    if rounding == "down":
        return np.floor(scaled).astype(np.int64)
    raise ValueError(f"unknown rounding {rounding!r}; use nearest or down")
