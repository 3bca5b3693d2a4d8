"""The result in words, and what would settle an undecided one."""

from rockhold.measure.budget import BudgetRow
from rockhold.measure.decision import ACCEPT, REJECT
from rockhold.measure.limits import EndPlayLimits, GaugeFacts
from rockhold.measure.trace import MM_PER_INCH


def largest_cause(rows: tuple[BudgetRow, ...]) -> BudgetRow:
    """Return the row of a budget that matters most."""
    return max(rows, key=lambda row: row.u_mm)


def _length(mm: float) -> str:
    return f"{mm / MM_PER_INCH:.5f} in ({mm:.4f} mm)"


def what_settles(cause: BudgetRow, distance_mm: float) -> str:
    """Return what would settle an undecided result.

    Args:
        cause: The largest row of the budget.
        distance_mm: How far the end play lies from the nearer tolerance limit, in mm.
    """
    if distance_mm < 0.25 * cause.u_mm:
        return (
            "It lies practically on the limit, where no measurement decides: "
            "adjust toward the middle of the band and measure again."
        )
    if cause.cause.startswith("resolution"):
        return "A gauge with a finer count would settle it; more cycles alone would not."
    if cause.cause.startswith("repeatability"):
        return "More cycles would settle it, with the wheel stopped at the same place each time."
    if cause.cause.startswith("limit of error"):
        return "A gauge with a smaller limit of error would settle it."
    return "Line the plunger up with the spindle and measure again."


def in_words(
    end_play_mm: float,
    expanded_mm: float,
    verdict: str,
    limits: EndPlayLimits,
    gauge: GaugeFacts,
    cause: BudgetRow,
    faulty: bool = False,
) -> str:
    """Return the result in a few sentences; `faulty` says that what was found forbids accepting."""
    low, high = limits.band_low_mm, limits.band_high_mm
    text = f"End play {_length(end_play_mm)}, give or take {_length(expanded_mm)}: "
    if verdict == ACCEPT:
        text += "within the tolerance band."
    elif verdict == REJECT:
        text += "below the band." if end_play_mm < low else "above the band."
        if low <= end_play_mm <= high:
            text = text[: -len("above the band.")] + "outside the acceptance limits."
    elif low + expanded_mm <= end_play_mm <= high - expanded_mm:
        text += "undecided, though within the band"
        text += ": mend what was found, then measure again." if faulty else "."
    else:
        nearest = min(abs(end_play_mm - low), abs(end_play_mm - high))
        text += "undecided. " + what_settles(cause, nearest)
    if gauge.mpe_mm is None:
        text += " Without a certificate, the gauge's own error is not in this uncertainty."
    return text
