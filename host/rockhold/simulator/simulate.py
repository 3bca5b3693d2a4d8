"""Simulate one job: a scenario and a seed give the gauge's readings and the truth."""

from collections.abc import Iterator

import numpy as np

from rockhold.measure.trace import Trace, UnitSpan
from rockhold.simulator.gauge import Reading, digits, lagged, sample_times
from rockhold.simulator.misfortune import spoil_counts, spoil_travel, time_s
from rockhold.simulator.motion import Motion, move, plan
from rockhold.simulator.scenario import Scenario, TrueHold, Truth
from rockhold.simulator.wheelend import handling_mm, travel_mm

_HAND = frozenset({"no_hold", "short_hold", "one_sided"})
_OTHER_STEP_MM = {"mm": ("in", 0.0127), "in": ("mm", 0.01)}


def _truth(scenario: Scenario, motion: Motion, events: list[tuple[str, float]]) -> Truth:
    half = scenario.wheel_end.end_play_mm / 2
    holds = tuple(
        TrueHold(p.start_s, p.end_s, p.side * half, "out" if p.side > 0 else "in")
        for p in motion.phases
        if p.kind == "hold"
    )
    return Truth(scenario.wheel_end.end_play_mm, holds, tuple(sorted(events, key=lambda e: e[1])))


def simulate(scenario: Scenario, seed: int) -> tuple[Trace, Truth]:
    """Return the readings of one job and what really happened; the same seed, the same job.

    Args:
        scenario: Wheel end, technician, gauge and misfortunes.
        seed: Any whole number of zero or more.
    """
    trace, truth, _ = simulate_motion(scenario, seed)
    return trace, truth


def simulate_motion(scenario: Scenario, seed: int) -> tuple[Trace, Truth, Motion]:
    """Return the same as `simulate`, and how the technician moved the wheel."""
    rng = np.random.default_rng(seed)
    parts, person, gauge = scenario.wheel_end, scenario.technician, scenario.gauge
    kinds = frozenset(bad.kind for bad in scenario.misfortunes)
    handling_s = 3.0 if person.handling else 0.0
    phases = plan(person, rng, kinds & _HAND, handling_s)
    motion = move(person, phases, rng)
    travel = travel_mm(motion, parts, person, rng)
    travel = parts.out_sign * travel + handling_mm(handling_s, len(travel), rng)
    events = []
    for bad in scenario.misfortunes:
        at_s = time_s(bad, phases)
        events.append((bad.kind, at_s))
        travel = spoil_travel(travel, motion.t_s, bad, at_s, rng)
    times = sample_times(float(motion.t_s[-1]), gauge, rng)
    # Where the digits' edges lie relative to the levels is anybody's guess.
    offset = rng.uniform(-500, 500) * gauge.step_mm
    shown = np.interp(times, motion.t_s, lagged(travel, gauge.lag_s)) + offset
    count = digits(shown, gauge.step_mm, gauge.rounding)
    arrive = np.ones(len(times), dtype=np.bool_)
    spans: tuple[UnitSpan, ...] = (UnitSpan(0, gauge.unit, gauge.step_mm),)
    for bad, (_, at_s) in zip(scenario.misfortunes, events, strict=True):
        count, here = spoil_counts(times, count, bad, at_s, rng)
        arrive &= here
        if bad.kind == "unit_changed":
            spans, count = _change_unit(scenario, times, shown, count, at_s)
    spans = tuple(
        UnitSpan(int(arrive[: span.first].sum()), span.unit, span.step_mm) for span in spans
    )
    t_us = np.round(times[arrive] * 1e6).astype(np.int64)
    return Trace(t_us, count[arrive], spans), _truth(scenario, motion, events), motion


def _change_unit(
    scenario: Scenario,
    times: np.ndarray[tuple[int], np.dtype[np.float64]],
    shown: np.ndarray[tuple[int], np.dtype[np.float64]],
    count: np.ndarray[tuple[int], np.dtype[np.int64]],
    at_s: float,
) -> tuple[tuple[UnitSpan, ...], np.ndarray[tuple[int], np.dtype[np.int64]]]:
    """Return spans and counts of a gauge whose unit key was pressed at `at_s`."""
    gauge = scenario.gauge
    unit, step_mm = _OTHER_STEP_MM[gauge.unit]
    first = int(np.searchsorted(times, at_s))
    out = count.copy()
    out[first:] = digits(shown[first:], step_mm, gauge.rounding)
    return (UnitSpan(0, gauge.unit, gauge.step_mm), UnitSpan(first, unit, step_mm)), out


def readings(trace: Trace) -> Iterator[Reading]:
    """Yield the readings one by one, in the order and at the times the gauge sends them."""
    ends = [span.first for span in trace.spans[1:]] + [len(trace)]
    for span, end in zip(trace.spans, ends, strict=True):
        for index in range(span.first, end):
            yield Reading(int(trace.t_us[index]), int(trace.count[index]), span.unit, span.step_mm)
