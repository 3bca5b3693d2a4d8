"""Holds on one continuous coordinate: steps of a pressed zero or a knocked base are taken out.

Holds show the steps, and without the steps there are more holds; so the two are found in turn.
"""

from rockhold.measure.beside import find_press_beside
from rockhold.measure.choice import choose, levels_of, side_distance, sides_of
from rockhold.measure.contact import without_far
from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold, find_holds, is_coarse
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.sides import distance
from rockhold.measure.steps import FoundStep, find_step, without_step

MOST_STEPS = 3
NARROWEST_MM = 0.005  # a narrower band would break holds for the hand's tremor


def holds_and_steps(
    axis: Coordinate, limits: EndPlayLimits
) -> tuple[Coordinate, list[Hold], list[FoundStep]]:
    """Return the coordinate without steps, its holds, and the steps that were taken out."""
    steps: list[FoundStep] = []
    shown = axis.count
    holds, band = find_holds(axis, limits)
    while len(steps) < MOST_STEPS:
        step = find_step(axis, shown, holds, band)
        if step is None or step.kind == "base_moved":
            # A wheel left alone before a press, or after one, is at no side, as after a knock.
            beside = find_press_beside(axis, shown, without_far(axis, holds)[0], band)
            step = beside or step
        if step is None:
            break
        steps.append(step)
        axis = without_step(axis, step)
        holds, band = find_holds(axis, limits)
    if not is_coarse(axis):
        holds = _with_narrower_band(axis, limits, holds, band)
    return axis, holds, sorted(steps, key=lambda step: step.index)


def _with_narrower_band(
    axis: Coordinate, limits: EndPlayLimits, holds: list[Hold], band: int
) -> list[Hold]:
    """Return the holds, found again where the two sides lie within the band of quiet."""
    if distance(levels_of(holds), sides_of(holds)) >= 1.5 * band:
        return holds  # told by all of them, which is quicker
    choice = choose(axis, holds)
    apart = side_distance(choice)
    if apart >= 1.5 * band:
        return holds
    again, _ = find_holds(axis, limits, int(max(0.5 * apart, NARROWEST_MM / axis.step_mm)))
    return again if choose(axis, again).cycles >= choice.cycles else holds
