"""How often each misfortune is found, called something else, or accepted, by gauge.

    .venv/bin/python tests/bench/misfortunes.py [--jobs NUMBER]

Jobs are drawn at random by the project's simulator. The row "none" counts the good jobs with any
finding.
"""

import argparse

from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.procedure.endplay import shipped_limits
from rockhold.simulator.draw import GAUGES, draw_scenario
from rockhold.simulator.simulate import simulate

KINDS = (
    "",
    "plunger_dropped",
    "contact_lost",
    "zero_pressed",
    "base_moved",
    "no_hold",
    "one_sided",
    "data_gap",
    "gauge_frozen",
)
FIRST_SEED = 50_000  # far from the seeds that tests and the accuracy table use


def counts(kind, gauge, jobs):
    """Return how many jobs had the finding, and how many were accepted."""
    limits = shipped_limits()
    found = accepted = 0
    for seed in range(FIRST_SEED, FIRST_SEED + jobs):
        trace, _ = simulate(draw_scenario(gauge, seed, kind), seed)
        result = measure_trace(trace, limits, GaugeFacts())
        codes = {finding.code for finding in result.findings}
        found += (kind in codes) if kind else bool(codes)
        accepted += result.verdict == "accept"
    return found, accepted


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", type=int, default=100)
    jobs = parser.parse_args().jobs
    print(f"found / accepted, of {jobs} jobs each")
    print(f"{'misfortune':18}" + "".join(f"{name:>20}" for name in GAUGES))
    for kind in KINDS:
        cells = [counts(kind, gauge, jobs) for gauge in GAUGES]
        row = "".join(f"{f'{found} / {accepted}':>20}" for found, accepted in cells)
        print(f"{kind or 'none':18}{row}", flush=True)


if __name__ == "__main__":
    main()
