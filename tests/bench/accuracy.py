"""Accuracy and speed, side by side with what one would otherwise do. Run it with `make bench`.

Methods, all on the same simulated jobs:
    span     largest less smallest reading
    states   two state levels by histogram (IEEE 181)
    changes  change points of the mean (ruptures, kernel method), long segments, two groups
    oracle   is told where the holds are: mean of each, least squares
    ours     rockhold.measure
"""

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import ruptures

from rockhold.measure.fit import fit_levels
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.sides import upper_group
from rockhold.measure.trace import MM_PER_INCH, Trace
from rockhold.procedure.endplay import shipped_limits
from rockhold.simulator.draw import GAUGES, draw_scenario
from rockhold.simulator.scenario import Truth
from rockhold.simulator.simulate import simulate

THOU_MM = MM_PER_INCH / 1000
LIMITS = shipped_limits()
# Root mean square errors asked for, in thousandths of an inch, on jobs that nobody here has seen.
GOALS = dict(zip(GAUGES, (0.021, 0.022, 0.092, 0.140), strict=True))


def job(gauge: str, seed: int) -> tuple[Trace, Truth]:
    """Return a simulated job that begins with the gauge set up: the simple methods need that."""
    scenario = draw_scenario(gauge, seed)
    ready = replace(scenario.technician, handling=False)
    return simulate(replace(scenario, technician=ready), seed)


def by_span(trace: Trace, truth: Truth) -> float:
    """Return largest less smallest reading, in mm."""
    return float(np.ptp(trace.travel_mm))


def by_states(trace: Trace, truth: Truth) -> float:
    """Return the distance of the modes of the two halves of the histogram (IEEE 181), in mm."""
    travel = trace.travel_mm
    step = max(trace.spans[0].step_mm, float(np.ptp(travel)) / 100)
    many, edges = np.histogram(travel, np.arange(travel.min(), travel.max() + 2 * step, step))
    centres = 0.5 * (edges[1:] + edges[:-1])
    half = len(many) // 2
    low = centres[int(np.argmax(many[:half]))]
    return float(centres[half + int(np.argmax(many[half:]))] - low)


def by_changes(trace: Trace, truth: Truth) -> float:
    """Return the distance of the two groups of long segments between change points, in mm."""
    travel, t_s = trace.travel_mm, trace.t_s
    noise = max(float(np.median(np.abs(np.diff(travel)))), 0.3 * trace.spans[0].step_mm)
    finder = ruptures.KernelCPD(kernel="linear", min_size=5).fit(travel / noise)
    ends = finder.predict(pen=4 * np.log(len(travel)))
    firsts = [0, *ends[:-1]]
    long = [(a, b) for a, b in zip(firsts, ends, strict=True) if t_s[b - 1] - t_s[a] >= 0.8]
    levels = np.array([travel[a:b].mean() for a, b in long])
    upper = upper_group(levels, np.array([t_s[b - 1] - t_s[a] for a, b in long]))
    return float(np.median(levels[upper]) - np.median(levels[~upper])) if upper.any() else 0.0


def by_oracle(trace: Trace, truth: Truth) -> float:
    """Return the end play from the means of the true holds, in mm."""
    t_s, travel = trace.t_s, trace.travel_mm
    middles, levels, upper = [], [], []
    for hold in truth.holds:
        inside = (t_s >= hold.start_s + 0.2) & (t_s <= hold.end_s - 0.05)
        if inside.sum() >= 3:
            middles.append(0.5 * (hold.start_s + hold.end_s))
            levels.append(travel[inside].mean())
            upper.append(hold.side == "out")
    return fit_levels(np.array(middles), np.array(levels), np.array(upper)).end_play


def by_rockhold(trace: Trace, truth: Truth) -> float:
    """Return what rockhold measures, in mm; not a number if it does not measure."""
    result = measure_trace(trace, LIMITS, GaugeFacts())
    return float("nan") if result.end_play_mm is None else result.end_play_mm


METHODS: dict[str, Callable[[Trace, Truth], float]] = {
    "span": by_span,
    "states": by_states,
    "changes": by_changes,
    "oracle": by_oracle,
    "ours": by_rockhold,
}


def study(gauge: str, jobs: int) -> tuple[dict[str, float], dict[str, float], int]:
    """Return root mean square error in thousandths, milliseconds per job, and jobs not measured."""
    errors: dict[str, list[float]] = {name: [] for name in METHODS}
    spent = dict.fromkeys(METHODS, 0.0)
    for seed in range(jobs):
        trace, truth = job(gauge, seed)
        for name, method in METHODS.items():
            start = time.perf_counter()
            value = method(trace, truth)
            spent[name] += time.perf_counter() - start
            errors[name].append((value - truth.end_play_mm) / THOU_MM)
    missing = int(np.isnan(errors["ours"]).sum())
    rms = {name: float(np.sqrt(np.nanmean(np.square(e)))) for name, e in errors.items()}
    return rms, {name: 1000 * s / jobs for name, s in spent.items()}, missing


def intervals(gauge: str, jobs: int) -> tuple[float, float]:
    """Return the share of intervals that hold the truth, and their median half width in thou."""
    inside, halves = [], []
    for seed in range(jobs):
        trace, truth = job(gauge, seed)
        result = measure_trace(trace, LIMITS, GaugeFacts())
        if result.end_play_mm is not None and result.expanded_mm is not None:
            inside.append(abs(result.end_play_mm - truth.end_play_mm) <= result.expanded_mm)
            halves.append(result.expanded_mm / THOU_MM)
    return float(np.mean(inside)), float(np.median(halves))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", type=int, default=100, help="simulated jobs per gauge")
    jobs = parser.parse_args().jobs
    print(f"Root mean square error in thousandths of an inch, {jobs} simulated jobs per gauge")
    head = "".join(f"{name:>9}" for name in METHODS)
    print(f"{'gauge':<18}{head}{'goal':>9}{'held':>8}{'half':>8}{'not':>5}{'ms':>7}{'x':>6}")
    for gauge in GAUGES:
        print(f"{gauge} ...", end="\r", file=sys.stderr)
        rms, spent, missing = study(gauge, jobs)
        held, half = intervals(gauge, jobs)
        row = "".join(f"{rms[name]:9.3f}" for name in METHODS)
        ratio = spent["ours"] / spent["changes"]
        print(
            f"{gauge:<18}{row}{GOALS[gauge]:9.3f}{100 * held:7.0f}%{half:8.3f}{missing:5d}"
            f"{spent['ours']:7.2f}{ratio:6.2f}"
        )
    print(
        "held: 95 % intervals that hold the truth; half: their median half width in thousandths;\n"
        "not: jobs not measured; ms: analysis of one job; x: that over the time of the change\n"
        "points. The goals are for jobs of another simulator: compare with the oracle's column."
    )


if __name__ == "__main__":
    main()
