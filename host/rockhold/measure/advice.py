"""How far to turn the spindle nut to reach the middle of the band."""

from dataclasses import dataclass

from rockhold.measure.trace import MM_PER_INCH


@dataclass(frozen=True, slots=True)
class NutAdvice:
    """A turn of the nut.

    Attributes:
        turn_deg: Degrees to turn; above zero backs the nut off, below zero tightens it.
        lock_positions: The same in lock positions, not rounded; None if their number is unknown.
        target_mm: The end play aimed at, in mm.
    """

    turn_deg: float
    lock_positions: float | None
    target_mm: float


def nut_advice(
    end_play_mm: float,
    expanded_mm: float,
    band_mm: tuple[float, float],
    threads_per_inch: float,
    lock_positions: int,
) -> NutAdvice | None:
    """Return the turn that brings the end play to the middle of the band, or None.

    A nut moves along the spindle by its turn divided by the threads per inch. None without a
    thread, and unless the end play is surely above zero: without play, the preload of the bearing
    is unknown and so is the turn that would relieve it.
    """
    if threads_per_inch <= 0 or end_play_mm - expanded_mm <= 0:
        return None
    target_mm = 0.5 * (band_mm[0] + band_mm[1])
    turn_deg = (target_mm - end_play_mm) * 360 * threads_per_inch / MM_PER_INCH
    places = turn_deg / 360 * lock_positions if lock_positions else None
    return NutAdvice(turn_deg, places, target_mm)
