"""The wheel end: from the technician's motion to the travel that the plunger follows."""

import numpy as np
from numpy.typing import NDArray

from rockhold.simulator.motion import GRID_HZ, Motion
from rockhold.simulator.scenario import Technician, WheelEnd

Floats = NDArray[np.float64]


def face_mm(angle_rad: Floats, parts: WheelEnd, phase: float) -> Floats:
    """Return how far the hub's face stands out at an angle, in mm."""
    first = (1 - parts.second_harmonic) * np.sin(angle_rad + phase)
    second = parts.second_harmonic * np.sin(2 * angle_rad + 1.7 * phase)
    out: Floats = 0.5 * parts.runout_mm * (first + second)
    return out


def travel_mm(
    motion: Motion, parts: WheelEnd, person: Technician, rng: np.random.Generator
) -> Floats:
    """Return the true travel at the plunger, out counted as positive, in mm.

    The end play is taken up once the push passes a small part of its usual value; beyond that
    the parts spring by `give_mm` per usual push. An unseated bearing stands short of its place
    and comes nearer only while it is rocked; it cannot stand short by more than most of the play.
    """
    across = np.clip(motion.push / 0.3, -1, 1)
    springing = motion.push - across
    unseated_mm = min(parts.seating_mm, 0.4 * parts.end_play_mm)
    left = unseated_mm * np.exp(-motion.rocking_s / parts.seating_s)
    axial = across * (parts.end_play_mm / 2 - left) + parts.give_mm * springing
    face = face_mm(motion.angle_rad, parts, rng.uniform(0, 2 * np.pi))
    effort = np.where(motion.push == 0, 0.3, 1.0)
    drift = parts.drift_mm_per_min / 60 * motion.t_s
    return axial + face + drift + person.tremor_mm * effort * motion.tremor


def handling_mm(length_s: float, n: int, rng: np.random.Generator) -> Floats:
    """Return the travel of setting the indicator up: large, irregular, ends at zero; in mm."""
    out = np.zeros(n)
    m = int(length_s * GRID_HZ)
    knots = rng.uniform(-2.0, 2.0, 6)
    knots[-1] = 0.0
    out[:m] = np.interp(np.arange(m), np.linspace(0, 0.8 * m, 6), knots)
    return out
