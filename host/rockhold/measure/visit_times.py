"""A count that was shown for longer than a visit to a side lasts in this work.

Whoever pulls and pushes in turn keeps about his own time: the visits to the sides are alike to a
sixth or so. A gauge shows one count for no longer than one visit, however coarse it is; one that
froze swallows a whole visit, or runs on after what should be its end. So the time of the longest
standstill is held against the times of the other visits, on a logarithmic scale.
"""

from bisect import bisect_left
from itertools import pairwise
from math import exp, fsum, log, sqrt
from statistics import median

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.holds import Hold
from rockhold.measure.still import groups_by_level

FEWEST_VISITS = 2  # besides the one in question
LIKE = 0.15  # standard deviation of the logarithm of a visit's time, at least
# In standard deviations: a standstill so much longer than a visit; or a visit that lasts so much
# longer than the others, because others are missing, with a standstill longer than most visits.
LONG, SWALLOWING = 3.3, 4.0
STANDING = {True: 1.7, False: 1.0}  # surely, or perhaps
WAIT_S, AFTER_WAIT = 4.0, 1.2  # after the work; what then is left, in visits
ABRUPT_SHARE = 0.8  # of a visit; a standstill that ends with a jump


def visit_starts(axis: Coordinate, holds: list[Hold]) -> list[float]:
    """Return when the visits to either side began, in seconds."""
    groups, _ = groups_by_level(axis, holds)
    return [float(axis.t_s[first]) for _, first, _ in groups]


def too_long(
    axis: Coordinate,
    starts: list[float],
    middle_s: float,
    length_s: float,
    abrupt: bool,
    surely: bool = True,
) -> bool:
    """Return whether one count was shown for longer than a visit lasts.

    Args:
        axis: The readings.
        starts: When the visits began, in seconds.
        middle_s: The middle of the time in which the count was shown, in seconds.
        length_s: How long it was shown, in seconds.
        abrupt: Whether it ended with a jump like no other.
        surely: Whether to ask for what no good gauge shows, or for what few do.
    """
    at = bisect_left(starts, middle_s)
    times = [later - start for start, later in pairwise(starts)]
    if 0 < at < len(starts):
        del times[at - 1]
    if len(times) < FEWEST_VISITS or length_s < ABRUPT_SHARE * min(times):
        return False
    logs = [log(time) for time in times]
    usual, mean = median(logs), fsum(logs) / len(logs)
    sd = sqrt(fsum((one - mean) ** 2 for one in logs) / len(logs) + LIKE**2)
    if abrupt and length_s >= ABRUPT_SHARE * exp(usual):
        return True
    if at == len(starts):
        return length_s - WAIT_S >= AFTER_WAIT * exp(usual)
    stood = (log(length_s) - usual) / sd
    begun_s = starts[at - 1] if at else float(axis.t_s[0])
    visit = (log(starts[at] - begun_s) - usual) / sd
    return stood >= LONG or (visit >= SWALLOWING and stood >= STANDING[surely])
