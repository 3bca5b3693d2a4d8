"""How long a pull took from 80 % of its target to all of it.

Source: ISO 6789 times the loading of a torque tool from 80 % on; from memory.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_FROM = 0.8
_ALL = 0.995  # of the peak; the very last of it may take its time


def loading_s(
    t_s: Floats, torque_nm: Floats, peak_nm: float, target_nm: float | None
) -> float | None:
    """Return the time from 80 % of the target, or of the peak, to all of it, in s."""
    goal = _ALL * peak_nm if target_nm is None else target_nm
    if goal > peak_nm:
        return None
    end_s = _crossing(t_s, torque_nm, min(goal, float(torque_nm.max())))
    begin_s = _crossing(t_s, torque_nm, _FROM * goal)
    return end_s - begin_s


def _crossing(t_s: Floats, torque_nm: Floats, level_nm: float) -> float:
    """Return when the torque first rises to a level, between readings by a straight line."""
    at = int(np.argmax(torque_nm >= level_nm))
    if at == 0:
        return float(t_s[0])
    below, above = float(torque_nm[at - 1]), float(torque_nm[at])
    share = (level_nm - below) / (above - below)
    return float(t_s[at - 1] + share * (t_s[at] - t_s[at - 1]))
