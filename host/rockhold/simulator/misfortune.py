"""What goes wrong with the plunger, the base and the gauge; the hand's faults are in motion.py."""

import numpy as np
from numpy.typing import NDArray

from rockhold.simulator.motion import Phase
from rockhold.simulator.scenario import Misfortune

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def time_s(bad: Misfortune, phases: tuple[Phase, ...]) -> float:
    """Return when a misfortune happens, in seconds."""
    start, end = phases[1].start_s, phases[-1].start_s
    return start + bad.at * (end - start)


def spoil_travel(
    travel: Floats, t: Floats, bad: Misfortune, at_s: float, rng: np.random.Generator
) -> Floats:
    """Return the indicator's travel after a misfortune of plunger or base, in mm."""
    out = travel.copy()
    if bad.kind == "plunger_dropped":
        depth = bad.size_mm or rng.uniform(0.5, 3.0)
        length = bad.length_s or rng.uniform(0.3, 0.8)
        edge = 0.03
        shape = np.interp(t, [at_s, at_s + edge, at_s + length - edge, at_s + length], [0, 1, 1, 0])
        out -= depth * shape
    elif bad.kind == "base_moved":
        shift = bad.size_mm or rng.choice([-1, 1]) * rng.uniform(0.05, 0.4)
        out += shift * np.clip((t - at_s) / 0.05, 0, 1)
    elif bad.kind in ("contact_lost", "low_preload"):
        # Of the work only: setting the gauge up goes much further.
        low, high = np.quantile(travel[len(travel) // 3 :], [0.02, 0.98])
        share = 0.5 if bad.kind == "contact_lost" else 0.06
        stop = low + share * (high - low)
        out = np.where(t >= at_s, np.maximum(out, stop), out)
    elif bad.kind == "drifting":
        out += (bad.size_mm or 0.05) * np.clip((t - t[0]) / (t[-1] - t[0]), 0, 1)
    return out


def spoil_counts(
    t: Floats, count: Ints, bad: Misfortune, at_s: float, rng: np.random.Generator
) -> tuple[Ints, Bools]:
    """Return the counts after a fault of the gauge, and which readings arrive at all."""
    out = count.copy()
    arrive = np.ones(len(t), dtype=np.bool_)
    first = int(np.searchsorted(t, at_s))
    if first >= len(t):
        return out, arrive
    if bad.kind == "zero_pressed":
        out[first:] -= out[first]
    elif bad.kind == "data_gap":
        length = bad.length_s or rng.uniform(0.6, 1.5)
        arrive &= ~((t >= at_s) & (t < at_s + length))
    elif bad.kind == "gauge_frozen":
        length = bad.length_s or rng.uniform(5.0, 10.0)
        last = int(np.searchsorted(t, at_s + length))
        out[first:last] = out[first]
    elif bad.kind == "wild_reading":
        out[first] += int(rng.choice([-1, 1])) * int(rng.integers(20, 2000))
    return out, arrive
