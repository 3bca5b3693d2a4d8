"""Simulated jobs for the tests of the measurement."""

from functools import cache

from rockhold.measure.hub.turning import Turning
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.measure import measure_trace
from rockhold.measure.trace import MM_PER_INCH
from rockhold.procedure.endplay import shipped_limits
from rockhold.simulator.draw import draw_scenario
from rockhold.simulator.rocking import hub_motion
from rockhold.simulator.simulate import simulate, simulate_motion

FINE, FAST, METRIC, COARSE = (
    "0.00005 in, 20/s",
    "0.00005 in, 50/s",
    "0.01 mm, 10/s",
    "0.0005 in, 14/s",
)
ALL = (FINE, FAST, METRIC, COARSE)
THOU_MM = MM_PER_INCH / 1000
LIMITS = shipped_limits()
NO_CERTIFICATE = GaugeFacts()


@cache
def measured(gauge, seed, misfortune=""):
    """Return trace, truth and result of one simulated job."""
    trace, truth = simulate(draw_scenario(gauge, seed, misfortune), seed)
    return trace, truth, measure_trace(trace, LIMITS, NO_CERTIFICATE)


def error_thou(gauge, seed, misfortune=""):
    """Return measured less true end play, in thousandths of an inch; None if not measured."""
    _, truth, result = measured(gauge, seed, misfortune)
    if result.end_play_mm is None:
        return None
    return (result.end_play_mm - truth.end_play_mm) / THOU_MM


def codes(result):
    """Return the codes of a result's findings."""
    return {finding.code for finding in result.findings}


@cache
def with_sensor(gauge, seed, misfortune="", bias_deg_s=1.5):
    """Return trace, turning rate (as the board reports it) and truth of one simulated job."""
    trace, truth, motion = simulate_motion(draw_scenario(gauge, seed, misfortune), seed)
    hub = hub_motion(motion, seed, bias_deg_s)
    pairs = len(hub.t_us) // 2
    rate_deg_s = hub.turn_deg_s[: 2 * pairs].reshape(pairs, 2).mean(axis=1)
    return trace, Turning.of(hub.t_us[1 : 2 * pairs : 2], rate_deg_s), truth
