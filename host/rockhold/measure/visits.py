"""Visits to a side: where the wheel was rocked, and where it was held."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold

LONGEST_HOLD_S = 2.0  # of a long quiet stretch, the last part; before it the wheel was rocked
CHANGE_S = 0.45  # time to change sides: not used
UNSEATED_SHARE = 0.6  # first part of a rock, while the rollers still seat: not used
LONGEST_ROCK_S = 5.0


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit to a side: indexes of the rocking and of the hold (end exclusive)."""

    rock_first: int
    hold_first: int
    end: int
    upper: bool


def visits_of(axis: Coordinate, holds: tuple[Hold, ...], upper: NDArray[np.bool_]) -> list[Visit]:
    """Return the visits that end with each hold."""
    visits = []
    before_s = float(axis.t_s[0])
    for hold, side in zip(holds, upper, strict=True):
        start_s = max(hold.start_s, hold.end_s - LONGEST_HOLD_S)
        rocked_s = start_s - (before_s + CHANGE_S)
        rock_s = start_s - (1 - UNSEATED_SHARE) * min(max(rocked_s, 0.0), LONGEST_ROCK_S)
        first, hold_first = np.searchsorted(axis.t_s, [rock_s, start_s])
        visits.append(Visit(int(first), int(hold_first), hold.end, bool(side)))
        before_s = hold.end_s
    return visits
