"""From readings to end play: the one entry point is measure_trace."""

from dataclasses import replace

import numpy as np

from rockhold.measure.advice import nut_advice
from rockhold.measure.astray import astray
from rockhold.measure.choice import Choice, choose, single_visit
from rockhold.measure.contact import without_far
from rockhold.measure.coordinate import Coordinate, coordinate
from rockhold.measure.decision import ACCEPT, UNDECIDED, decide
from rockhold.measure.disturb import excursions
from rockhold.measure.estimate import Estimate, estimate
from rockhold.measure.findings import NEVER_ACCEPT, Reserve, finding, in_order
from rockhold.measure.frozen import LEAST_S, STOOD_STILL, Flat, frozen, may_be_frozen, telling
from rockhold.measure.hanging import hanging, hanging_findings, without_hanging
from rockhold.measure.holds import Hold, is_coarse
from rockhold.measure.hub.turning import Turning
from rockhold.measure.limits import EndPlayLimits, GaugeFacts
from rockhold.measure.plunger import lost_contact
from rockhold.measure.received import as_received
from rockhold.measure.result import EndPlayResult, Finding, HoldResult
from rockhold.measure.steps import FoundStep
from rockhold.measure.trace import Trace
from rockhold.measure.turned import while_still, without_turned
from rockhold.measure.unheld import HARDLY_ROCKED, hardly_rocked, unheld, visits_without
from rockhold.measure.unstepped import holds_and_steps
from rockhold.measure.visit_times import visit_starts
from rockhold.measure.words import in_words, largest_cause
from rockhold.measure.work_end import without_wait

FEWEST_READINGS = 10
FEWEST_CYCLES = 2
HELD_ONCE = (
    "One of the sides, if not both, was held less than twice; pull out and push in, in turn."
)


def measure_trace(
    trace: Trace, limits: EndPlayLimits, gauge: GaugeFacts, turning: Turning | None = None
) -> EndPlayResult:
    """Return end play, uncertainty, verdict and findings of one trace.

    Never raises for the readings' sake: what cannot be measured has verdict None and findings
    that say why.

    Args:
        trace: Indications of the gauge.
        limits: What the procedure asks for.
        gauge: What is known of the gauge.
        turning: What a motion sensor on the hub saw, on the same clock; None without one.
    """
    result = _measure(trace, limits, gauge, turning)
    if turning is None:
        return result
    return replace(result, turned=tuple((a, b) for a, b in turning.turned_spans().tolist()))


def _measure(
    trace: Trace, limits: EndPlayLimits, gauge: GaugeFacts, turning: Turning | None
) -> EndPlayResult:
    start_s = float(trace.t_us[0]) * 1e-6 if len(trace) else 0.0
    if len(trace) < FEWEST_READINGS:
        return _unmeasurable(start_s, f"There are only {len(trace)} readings.")
    if trace.t_us[-1] == trace.t_us[0]:
        return _unmeasurable(start_s, f"All {len(trace)} readings carry the same time.")
    trace = without_wait(trace, limits)
    axis = coordinate(trace)
    found = as_received(trace, axis, limits, gauge)
    hung = hanging(axis)
    axis, holds, steps = holds_and_steps(without_hanging(axis, hung), limits)
    found += hanging_findings(hung, steps)
    found += [finding(step.kind, step.at_s) for step in steps]
    holds, far = without_far(axis, holds)
    found += far
    holds, turned = without_turned(axis, holds, turning, limits)
    found += turned or []
    choice = choose(axis, holds)
    runs = telling(axis, choice, turning)
    stood = bool(runs) and runs[0].length_s >= LEAST_S
    starts = visit_starts(axis, holds) if stood else []
    found += _disturbances(axis, holds, choice, runs, starts)
    found += [] if steps else astray(axis, holds, choice, limits)
    lost, reserve = lost_contact(trace, axis, holds, choice, limits, turning)
    found += lost
    if not reserve.forbids_accept and may_be_frozen(axis, choice, runs, starts):
        reserve = STOOD_STILL
    elif not reserve.text and hardly_rocked(axis, choice):
        reserve = HARDLY_ROCKED
    blocked = _what_blocks(axis, choice, limits, turned)
    found += blocked
    if blocked:
        result = _not_measured(axis, choice, limits, found)
    else:
        result = _measured(axis, choice, steps, limits, gauge, found, reserve)
    if turning is None or turned is None:
        return result
    shown = replace(choice, holds=while_still(axis, choice.holds, turning))
    return replace(result, holds=_hold_results(axis, shown, limits))


def _unmeasurable(at_s: float, why: str) -> EndPlayResult:
    return EndPlayResult(findings=(finding("no_hold", at_s, why),), sentence=f"Not measured. {why}")


def _disturbances(
    axis: Coordinate, holds: list[Hold], choice: Choice, runs: list[Flat], starts: list[float]
) -> list[Finding]:
    """Return faults of the gauge, and holes that the plunger fell into."""
    found = frozen(axis, choice, runs, starts)
    if not choice.holds:
        return found
    # With less than two cycles nobody can say which of the holds are the sides'.
    known = choice.holds if choice.cycles >= FEWEST_CYCLES else tuple(holds)
    return found + excursions(axis, known, holds[0].first)


def _what_blocks(
    axis: Coordinate, choice: Choice, limits: EndPlayLimits, turned: list[Finding] | None
) -> list[Finding]:
    """Return the findings that make a measurement impossible.

    `turned` is where a motion sensor saw that the wheel was never still; None without one.
    """
    if turned and choice.cycles < limits.cycles_required:
        return turned
    if not choice.holds:
        return [finding("no_hold", float(axis.t_s[0]))]
    found = unheld(axis, choice, limits) if turned is None else []
    if not choice.two_sided:
        return [*found, finding("one_sided", choice.holds[0].start_s)]
    if choice.cycles < limits.cycles_required:
        more = f"Found {choice.cycles}, at least {limits.cycles_required} are needed."
        found.append(finding("few_cycles", choice.holds[-1].end_s, more))
        if single_visit(choice.upper):
            found.append(Finding("one_sided", choice.holds[0].start_s, HELD_ONCE))
        else:
            found += visits_without(axis, choice.holds, limits)
    return found


def _hold_results(
    axis: Coordinate, choice: Choice, limits: EndPlayLimits
) -> tuple[HoldResult, ...]:
    """Return the holds with their sides; with only one side they are all said to be out."""
    out = limits.out_sign > 0
    sides = choice.upper if choice.two_sided else np.full(len(choice.holds), out)
    return tuple(
        HoldResult(
            hold.start_s,
            hold.end_s,
            hold.level * axis.step_mm,
            "out" if bool(upper) == out else "in",
        )
        for hold, upper in zip(choice.holds, sides, strict=True)
    )


def _not_measured(
    axis: Coordinate, choice: Choice, limits: EndPlayLimits, found: list[Finding]
) -> EndPlayResult:
    return EndPlayResult(
        holds=_hold_results(axis, choice, limits),
        findings=in_order(found),
        cycles=choice.cycles,
        step_mm=axis.step_mm,
        rate_hz=1 / axis.spacing_s,
        sentence="Not measured: " + _reason(found).text,
    )


def _reason(found: list[Finding]) -> Finding:
    """Return what to say first: a faulty gauge or mount explains all the rest."""
    return next((f for f in found if f.code in NEVER_ACCEPT), found[-1])


def _short_of_the_best(
    axis: Coordinate, choice: Choice, best: Estimate, limits: EndPlayLimits
) -> list[Finding]:
    """Return drift, cycles that are missing but not needed, and visits without a hold.

    A coarse gauge may hide a hold, so there the last are named only where cycles are missing.
    """
    found = []
    if abs(best.drift_mm) > max(limits.drift_limit_mm, 4 * best.u_drift_mm):
        more = f"{best.drift_mm:+.4f} mm in all."
        found.append(finding("drifting", choice.holds[0].start_s, more))
    if choice.cycles < limits.cycles_asked:
        found.append(finding("few_cycles", choice.holds[-1].end_s))
    elif is_coarse(axis):
        return found
    return found + visits_without(axis, choice.holds, limits)


def _measured(
    axis: Coordinate,
    choice: Choice,
    steps: list[FoundStep],
    limits: EndPlayLimits,
    gauge: GaugeFacts,
    found: list[Finding],
    reserve: Reserve,
) -> EndPlayResult:
    best = estimate(axis, choice, steps, limits, gauge)
    end_play_mm, u_mm, k = best.end_play_mm, best.u_mm, best.coverage_factor
    found += _short_of_the_best(axis, choice, best, limits)
    band = (limits.band_low_mm, limits.band_high_mm)
    decision = decide(end_play_mm, u_mm, k * u_mm, *band, limits.guard_factor)
    verdict = decision.verdict
    faulty = any(f.code in NEVER_ACCEPT for f in found)
    if verdict == ACCEPT and (reserve.forbids_accept or faulty):
        verdict = UNDECIDED
    doubt = reserve.text if decision.verdict == ACCEPT else ""
    cause = largest_cause(best.rows)
    return EndPlayResult(
        end_play_mm=end_play_mm,
        u_mm=u_mm,
        expanded_mm=k * u_mm,
        coverage_factor=k,
        coverage=limits.coverage,
        dof=best.dof,
        conformity=decision.conformity,
        verdict=verdict,
        holds=_hold_results(axis, choice, limits),
        findings=in_order(found),
        budget=best.rows,
        cycles=choice.cycles,
        drift_mm=best.drift_mm,
        step_mm=axis.step_mm,
        rate_hz=1 / axis.spacing_s,
        accept_mm=(decision.accept_low, decision.accept_high),
        advice=nut_advice(
            end_play_mm, k * u_mm, band, limits.threads_per_inch, limits.lock_positions
        ),
        sentence=in_words(end_play_mm, k * u_mm, verdict, limits, gauge, cause, faulty) + doubt,
        doubt=doubt.strip(),
    )
