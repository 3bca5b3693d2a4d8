"""End play and its uncertainty budget from the chosen holds.

A fine gauge is served by the least-squares fit alone. With a coarse one the fit still gives drift
and scatter, but the end play comes from the likelihood of the digits (rockhold.measure.digits).
"""

from dataclasses import dataclass
from math import inf
from statistics import median

import numpy as np
from numpy.typing import NDArray

from rockhold.measure import budget as gum
from rockhold.measure.budget import BudgetRow
from rockhold.measure.choice import Choice, levels_of
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.digits import DigitsResult, digits_end_play
from rockhold.measure.fit import Fit, Step, fit_levels
from rockhold.measure.holds import is_coarse
from rockhold.measure.limits import EndPlayLimits, GaugeFacts
from rockhold.measure.steps import FoundStep
from rockhold.measure.visits import Visit, visits_of

Numbers = NDArray[np.int64] | NDArray[np.float64]

# Seating dies away while the wheel is rocked. If it takes 0.6 s to a third, what is left at the
# hold is about this share of what came in the last second before it.
SEATING_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class Estimate:
    """End play with its budget; lengths in mm.

    Attributes:
        end_play_mm: The end play.
        u_mm: Combined standard uncertainty.
        coverage_factor: k of the expanded uncertainty.
        dof: Effective degrees of freedom.
        rows: The uncertainty budget.
        drift_mm: Drift from the first hold to the last.
        u_drift_mm: Its Type A standard uncertainty.
    """

    end_play_mm: float
    u_mm: float
    coverage_factor: float
    dof: float
    rows: tuple[BudgetRow, ...]
    drift_mm: float
    u_drift_mm: float


def estimate(
    axis: Coordinate,
    choice: Choice,
    steps: list[FoundStep],
    limits: EndPlayLimits,
    gauge: GaugeFacts,
) -> Estimate:
    """Return the end play from holds on both sides."""
    middles = np.array([hold.middle_s for hold in choice.holds])
    known = tuple(Step(step.at_s, 0.0, step.u) for step in steps)
    fit = fit_levels(middles, levels_of(choice.holds), choice.upper, known)
    visits = visits_of(axis, choice.holds, choice.upper)
    digits = None
    if is_coarse(axis):
        digits = digits_end_play(axis, visits, [step.index for step in steps], limits.coverage)
    if digits is None:
        end_play_mm, rows = fit.end_play * axis.step_mm, _rows_of_fit(axis, choice, fit)
    else:
        end_play_mm = digits.end_play * axis.digit * axis.step_mm
        rows = [_row_of_digits(axis, digits)]
    rows += _rows_for_all(axis, choice, visits, end_play_mm, limits, gauge)
    u_mm = gum.combined(tuple(rows))
    dof = gum.effective_dof(tuple(rows))
    k = gum.coverage_factor(dof, limits.coverage)
    if digits is not None:
        k *= digits.half_width / digits.u / gum.coverage_factor(inf, limits.coverage)
    to_mm = float(middles[-1] - middles[0]) * axis.step_mm
    return Estimate(
        end_play_mm, u_mm, k, dof, tuple(rows), fit.drift_per_s * to_mm, fit.u_drift_per_s * to_mm
    )


def _rows_of_fit(axis: Coordinate, choice: Choice, fit: Fit) -> list[BudgetRow]:
    """Return repeatability and resolution where each hold's mean is known finely."""
    spread = float(np.hypot(median(hold.spread for hold in choice.holds), fit.scatter))
    resolution_mm = gum.u_resolution(axis.digit, spread) * axis.step_mm
    return [
        BudgetRow(
            "repeatability of the holds",
            fit.u_end_play * axis.step_mm,
            "t",
            1.0,
            float(fit.dof),
            "residuals of the fit, Type A (JCGM 100:2008, 4.2)",
        ),
        BudgetRow(
            "resolution of the gauge",
            resolution_mm,
            "rectangular, smoothed by the readings' spread",
            2**0.5,
            inf,
            "one count on each side (JCGM 100:2008, F.2.2.1)",
        ),
    ]


def _row_of_digits(axis: Coordinate, digits: DigitsResult) -> BudgetRow:
    return BudgetRow(
        "resolution of the gauge, with repeatability",
        digits.u * axis.digit * axis.step_mm,
        "likelihood of the digits",
        1.0,
        inf,
        "which counts were shown while holding and rocking",
    )


def _rows_for_all(
    axis: Coordinate,
    choice: Choice,
    visits: list[Visit],
    end_play_mm: float,
    limits: EndPlayLimits,
    gauge: GaugeFacts,
) -> list[BudgetRow]:
    """Return the causes that do not depend on how the levels were found."""
    rows = [
        _rectangular(
            "runout with the stopping angle",
            limits.stop_angle_deg,
            _runout_mm(axis, visits) / (2 * limits.rock_angle_deg),
            "the procedure's stopping angle; travel seen while rocking, over twice its angle",
        ),
        _rectangular(
            "seating left to do",
            _settling_mm(axis, choice, visits),
            SEATING_SHARE,
            "end play in the holds less end play in the rocks before them",
        ),
        _rectangular(
            "tilt of the plunger",
            gum.cosine_error(1.0, limits.tilt_deg),
            abs(end_play_mm),
            "up to the procedure's largest tilt; cosine",
        ),
    ]
    if gauge.mpe_mm is not None:
        certificate = "its certificate (JCGM 100:2008, 4.3.7)"
        rows.append(_rectangular("limit of error of the gauge", gauge.mpe_mm, 1.0, certificate))
    return rows


def _rectangular(cause: str, half_width: float, sensitivity: float, source: str) -> BudgetRow:
    """Return the row of a cause of which no more than its bounds is known."""
    return BudgetRow(cause, gum.u_rectangular(half_width), "rectangular", sensitivity, inf, source)


def _runout_mm(axis: Coordinate, visits: list[Visit]) -> float:
    """Return the median travel seen in a rock, in mm; less than a count cannot be seen."""
    travels = []
    for visit in visits:
        part = axis.count[visit.rock_first : visit.hold_first]
        if len(part) >= 8:
            ordered = np.sort(part)
            edge = len(part) // 20
            travels.append(float(ordered[-1 - edge] - ordered[edge]))
    return max(median(travels) if travels else 0.0, 0.5 * axis.digit) * axis.step_mm


def _settling_mm(axis: Coordinate, choice: Choice, visits: list[Visit]) -> float:
    """Return how much farther the sides lie apart in the holds than in the rocks before, in mm.

    The face's runout is the same on both sides and cancels. What is left is seating that went on
    while the wheel was rocked; had it been rocked longer, some more might have come.
    """
    if is_coarse(axis):
        return 0.0
    moves: tuple[list[float], list[float]] = ([], [])
    for hold, visit in zip(choice.holds, visits, strict=True):
        rock = axis.count[visit.rock_first : visit.hold_first]
        if len(rock) >= 4:
            moves[visit.upper].append(hold.level - _trimmed_mean(rock))
    if not moves[0] or not moves[1]:
        return 0.0
    return abs(_trimmed_mean(np.array(moves[1])) - _trimmed_mean(np.array(moves[0]))) * axis.step_mm


def _trimmed_mean(values: Numbers) -> float:
    """Return the mean without the outer tenth on each side: a plunger in a hole must not count."""
    edge = (len(values) + 9) // 10 if len(values) > 3 else 0
    ordered = np.sort(values)[edge : len(values) - edge]
    return float(ordered.sum()) / len(ordered)
