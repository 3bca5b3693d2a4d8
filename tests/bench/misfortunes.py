"""How often each misfortune is found, how often it is accepted, and how wrong those are, by gauge.

    .venv/bin/python tests/bench/misfortunes.py [--jobs NUMBER]

Jobs are drawn at random by the project's simulator. The row "none" counts the good jobs with any
finding. Rows with "sensor": a motion sensor sits on the hub, with an offset of up to 20 °/s. Rows
"at the stop": the plunger cannot reach the hub on one side, from the beginning; "noted": its free
stop was.
"""

import argparse
from dataclasses import replace

from rockhold.measure.hub.turning import Turning
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.procedure.endplay import shipped_limits
from rockhold.simulator.draw import GAUGES, THOU_MM, draw_scenario
from rockhold.simulator.rocking import hub_motion
from rockhold.simulator.scenario import Misfortune
from rockhold.simulator.simulate import simulate_motion

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
    "short_hold",
)
SEEN = ("", "no_hold", "short_hold", "contact_lost")  # told by a motion sensor, if there is one
# From the first rock on: half of the travel is lost, or its last sixteenth.
STOPS = {"contact_lost": "at the stop", "low_preload": "barely at it"}
LAG_S = 0.5
FIRST_SEED = 260_000  # far from the seeds that tests, thresholds and the accuracy table use


def turning_of(motion, seed):
    """Return what a sensor on the hub tells of a technician's motion."""
    hub = hub_motion(motion, seed, bias_deg_s=seed % 41 - 20.0)
    return Turning.of(hub.t_us, hub.turn_deg_s)


def counts(kind, gauge, jobs, sensor=False):
    """Return how many jobs had the finding, and the errors of the accepted ones, in mm."""
    limits = shipped_limits()
    found = 0
    errors_mm = []
    for seed in range(FIRST_SEED, FIRST_SEED + jobs):
        trace, truth, motion = simulate_motion(draw_scenario(gauge, seed, kind), seed)
        turning = turning_of(motion, seed) if sensor else None
        result = measure_trace(trace, limits, GaugeFacts(), turning)
        codes = {finding.code for finding in result.findings}
        if kind == "short_hold" and "no_hold" in codes:
            codes.add(kind)  # what the person is asked to do is the same
        found += (kind in codes) if kind else bool(codes)
        if result.verdict == "accept":
            errors_mm.append(result.end_play_mm - truth.end_play_mm)
    return found, errors_mm


def at_stop(kind, gauge, jobs, noted):
    """Return the same of jobs whose plunger comes to its free stop from the first rock on.

    Noted: the person noted what the gauge showed there, before the base was set.
    """
    limits = shipped_limits()
    found, errors_mm = 0, []
    for seed in range(FIRST_SEED, FIRST_SEED + jobs):
        scenario = replace(draw_scenario(gauge, seed), misfortunes=(Misfortune(kind, 0.0),))
        trace, truth, _ = simulate_motion(scenario, seed)
        if noted:
            # The clipped readings themselves say where the stop is, once the gauge's lag is over.
            clipped = trace.count[trace.t_s >= truth.misfortunes[0][1] + LAG_S]
            trace = replace(trace, free_stop_mm=float(clipped.min()) * trace.spans[0].step_mm)
        result = measure_trace(trace, limits, GaugeFacts())
        found += "contact_lost" in {finding.code for finding in result.findings}
        if result.verdict == "accept":
            errors_mm.append(result.end_play_mm - truth.end_play_mm)
    return found, errors_mm


def in_words(found, errors_mm):
    """Return found, accepted, and the root mean square error of the accepted, in thousandths."""
    if not errors_mm:
        return f"{found} / 0"
    rms_mm = (sum(error**2 for error in errors_mm) / len(errors_mm)) ** 0.5
    return f"{found} / {len(errors_mm)} / {rms_mm / THOU_MM:.2f}"


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", type=int, default=100)
    jobs = parser.parse_args().jobs
    print(f"found / accepted / RMS error of the accepted in 0.001 in, of {jobs} jobs each")
    print(f"{'misfortune':20}" + "".join(f"{name:>20}" for name in GAUGES))
    for kind, sensor in [(kind, False) for kind in KINDS] + [(kind, True) for kind in SEEN]:
        row = "".join(f"{in_words(*counts(kind, gauge, jobs, sensor)):>20}" for gauge in GAUGES)
        print(f"{kind or 'none'}{', sensor' if sensor else ''}".ljust(20) + row, flush=True)
    for kind, name in STOPS.items():
        for noted in (False, True):
            row = "".join(f"{in_words(*at_stop(kind, g, jobs, noted)):>20}" for g in GAUGES)
            print(f"{name}{', noted' if noted else ''}".ljust(20) + row, flush=True)


if __name__ == "__main__":
    main()
