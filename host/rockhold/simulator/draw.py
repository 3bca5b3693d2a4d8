"""Draw scenarios at random: a wide spread of wheel ends, technicians and gauges for studies."""

import numpy as np

from rockhold.measure.trace import MM_PER_INCH
from rockhold.simulator.scenario import Gauge, Misfortune, Scenario, Technician, WheelEnd

THOU_MM = MM_PER_INCH / 1000

# The four gauges of the accuracy table: unit, count in mm, readings per second.
GAUGES = {
    "0.00005 in, 20/s": ("in", 0.05 * THOU_MM, 20.0),
    "0.00005 in, 50/s": ("in", 0.05 * THOU_MM, 50.0),
    "0.01 mm, 10/s": ("mm", 0.01, 10.0),
    "0.0005 in, 14/s": ("in", 0.5 * THOU_MM, 14.0),
}
STYLES = ("swing", "strokes", "dwell", "restless")


def draw_scenario(gauge_name: str, seed: int, misfortune: str = "") -> Scenario:
    """Return a random scenario for one of GAUGES, with one misfortune if it is named."""
    rng = np.random.default_rng([seed, 7])
    unit, step_mm, rate_hz = GAUGES[gauge_name]
    parts = WheelEnd(
        end_play_mm=rng.uniform(0.4, 9.0) * THOU_MM,
        runout_mm=rng.uniform(0.1, 1.5) * THOU_MM,
        second_harmonic=rng.choice([0.0, 0.3]),
        give_mm=rng.uniform(0.0, 0.3) * THOU_MM,
        seating_mm=rng.uniform(0.0, 1.0) * THOU_MM,
        seating_s=rng.uniform(0.2, 0.8),
        drift_mm_per_min=rng.normal(0, 0.1) * THOU_MM,
    )
    person = Technician(
        style=str(rng.choice(STYLES)),
        cycles=int(rng.integers(3, 6)),
        first_side=str(rng.choice(["out", "in"])),
        rock_deg=rng.uniform(15, 45),
        rock_hz=rng.uniform(0.5, 1.3),
        rock_s=(1.8, 4.5),
        hold_s=(1.15, 2.5),
        hold_deg=rng.uniform(1, 5),
        force_sd=rng.uniform(0.03, 0.15),
        rock_force=rng.uniform(0.8, 1.2),
        tremor_mm=rng.uniform(0.01, 0.06) * THOU_MM,
        change_s=rng.uniform(0.2, 0.6),
        free_s=rng.uniform(0.5, 3.0),
        handling=bool(rng.random() < 0.15),
    )
    gauge = Gauge(
        unit,
        step_mm,
        rate_hz,
        jitter=rng.uniform(0, 0.15),
        lag_s=rng.uniform(0.0, 0.08),
        rounding=str(rng.choice(["nearest", "down"])),
    )
    bad = (Misfortune(misfortune, float(rng.uniform(0.15, 0.85))),) if misfortune else ()
    return Scenario(parts, person, gauge, bad)
