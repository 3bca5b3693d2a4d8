"""The technician: when the wheel is rocked and held, how it turns, and how hard it is pushed."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rockhold.simulator.scenario import Technician

Floats = NDArray[np.float64]

GRID_HZ = 500.0  # well above tremor and any gauge's rate


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of one kind of motion: "free", "rock" or "hold"; times in seconds."""

    kind: str
    side: int
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Motion:
    """The technician's motion on an even grid of time.

    Attributes:
        t_s: Time, in seconds.
        angle_rad: Angle of the wheel, in radians.
        push: Axial push, +1 for the usual pull out, -1 for the usual push in.
        rocking_s: Time rocked on the present side so far, in seconds.
        tremor: Hand tremor of unit standard deviation.
        phases: The stretches, in order.
    """

    t_s: Floats
    angle_rad: Floats
    push: Floats
    rocking_s: Floats
    tremor: Floats
    phases: tuple[Phase, ...]


def plan(
    person: Technician, rng: np.random.Generator, kinds: frozenset[str], start_s: float
) -> tuple[Phase, ...]:
    """Lay out the phases; `kinds` names what the hand does wrong, for example "no_hold"."""
    first = 1 if person.first_side == "out" else -1
    phases = [Phase("free", 0, 0.0, start_s + person.free_s)]
    for index in range(2 * person.cycles):
        side = first if "one_sided" in kinds or index % 2 == 0 else -first
        begin = phases[-1].end_s
        rock_s = rng.uniform(*person.rock_s)
        hold_s = rng.uniform(*person.hold_s)
        if "no_hold" in kinds:
            rock_s, hold_s = rock_s + hold_s, 0.0
        elif "short_hold" in kinds:
            hold_s = rng.uniform(0.35, 0.6)
        phases.append(Phase("rock", side, begin, begin + rock_s))
        if hold_s:
            phases.append(Phase("hold", side, begin + rock_s, begin + rock_s + hold_s))
    phases.append(Phase("free", 0, phases[-1].end_s, phases[-1].end_s + person.free_s))
    return tuple(phases)


def _smooth(values: Floats, seconds: float) -> Floats:
    """Return values averaged over a cosine window of the given length."""
    half = max(1, round(seconds * GRID_HZ / 2))
    window = np.hanning(2 * half + 1)
    padded = np.pad(values, half, mode="edge")
    return np.convolve(padded, window / window.sum(), mode="valid")


def _swing(t: Floats, person: Technician, rng: np.random.Generator) -> Floats:
    phase = rng.uniform(0, 2 * np.pi)
    turns: Floats = np.sin(2 * np.pi * person.rock_hz * t + phase)
    return turns


def _strokes(t: Floats, person: Technician, rng: np.random.Generator, dwell: float) -> Floats:
    """Return uneven strokes from end to end, with a stop of `dwell` of a stroke at each end."""
    count = int(t[-1] * person.rock_hz * 2) + 3
    ends = np.where(np.arange(count) % 2 == 0, 1.0, -1.0) * rng.uniform(0.6, 1.2, count)
    if rng.random() < 0.5:
        ends = -ends
    spans = rng.uniform(0.75, 1.25, count) / (2 * person.rock_hz)
    times = np.concatenate(([0.0], np.cumsum(spans)))[:count]
    if dwell:
        stops = times + dwell * spans
        times = np.column_stack((times, stops)).ravel()
        ends = np.repeat(ends, 2)
    path: Floats = np.interp(t, times, ends)
    return path


def _restless(t: Floats, person: Technician, rng: np.random.Generator) -> Floats:
    knots = np.linspace(0, max(t[-1], 0.1), int(t[-1]) + 3)
    speed = np.interp(t, knots, rng.uniform(0.5, 1.6, len(knots)))
    width = np.interp(t, knots, rng.uniform(0.4, 1.3, len(knots)))
    turns = np.cumsum(speed) * 2 * np.pi * person.rock_hz / GRID_HZ
    path: Floats = width * np.sin(turns + rng.uniform(0, 2 * np.pi))
    return path


def _rock(t: Floats, person: Technician, rng: np.random.Generator) -> Floats:
    """Return one stretch of rocking in units of the rock's half width."""
    if person.style == "swing":
        return _swing(t, person, rng)
    if person.style == "strokes":
        return _strokes(t, person, rng, 0.0)
    if person.style == "dwell":
        return _strokes(t, person, rng, 0.35)
    if person.style == "restless":
        return _restless(t, person, rng)
    raise ValueError(f"unknown style {person.style!r}; use swing, strokes, dwell or restless")


def _tremor(n: int, rng: np.random.Generator) -> Floats:
    """Return hand tremor of about 4 to 10 Hz over a slow wander; standard deviation 1."""
    white = rng.standard_normal(n)
    fast = _smooth(white, 0.1)
    fast -= _smooth(fast, 0.3)
    slow = _smooth(rng.standard_normal(n), 1.0)
    mixed = fast / (fast.std() or 1.0) + 0.5 * slow / (slow.std() or 1.0)
    return mixed / (mixed.std() or 1.0)


def move(person: Technician, phases: tuple[Phase, ...], rng: np.random.Generator) -> Motion:
    """Perform the planned phases."""
    n = int(phases[-1].end_s * GRID_HZ)
    t = np.arange(n) / GRID_HZ
    angle = np.zeros(n)
    push = np.zeros(n)
    rocking = np.zeros(n)
    home = np.radians(rng.uniform(-180, 180))
    stop = home
    rocked = 0.0
    side = 0
    angle[:] = home
    for phase in phases:
        part = slice(int(phase.start_s * GRID_HZ), int(phase.end_s * GRID_HZ))
        local = t[part] - phase.start_s
        if not len(local):
            continue
        if phase.side != side:
            rocked, side = 0.0, phase.side
        if phase.kind == "rock":
            # The width grows from nothing and falls back to the angle of the coming hold.
            ramp = np.minimum(1.0, np.minimum(local / 0.3, (local[-1] - local) / 0.25))
            start, stop = stop, home + np.radians(rng.normal(0, person.hold_deg))
            path = start + (stop - start) * local / max(local[-1], 1e-9)
            angle[part] = path + ramp * np.radians(person.rock_deg) * _rock(local, person, rng)
            wobble = 1 + 0.5 * person.force_sd * np.sin(2 * np.pi * person.rock_hz * local)
            push[part] = phase.side * person.rock_force * wobble
            rocking[part] = rocked + local
            rocked += float(local[-1])
        else:
            angle[part] = stop
            push[part] = phase.side * (1 + rng.normal(0, person.force_sd))
            rocking[part] = rocked
    smooth_angle = _smooth(angle, 0.12)
    return Motion(t, smooth_angle, _smooth(push, person.change_s), rocking, _tremor(n, rng), phases)
