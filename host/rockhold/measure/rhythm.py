"""How far the ends of some stretches of readings keep the rhythm of rocking.

Whoever rocks to the last moment is then where he was a whole rock before, and across from where he
was half a rock before. A wheel that is held is no nearer to the one than to the other, however far
it was rocked before. Tremor and the flicker of the last digit keep no such time either, and a hand
that wanders is further away from what is longer ago. So the mean square distance from half a rock
before, less that from a whole one, is what rocking to the last moment adds and nothing else does.
"""

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from rockhold.measure.coordinate import Coordinate

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BIN_S = 0.08  # means over it take tremor out
QUICKEST_S, SLOWEST_S = 0.66, 2.0  # a whole rock, as hands turn a heavy wheel to and fro
ARRIVING_S = 0.4  # the way in and the first of the seating
FEWEST_PAIRS = 4  # readings of one stretch that have another half or a whole rock before them
FEWEST_STRETCHES = 4
# A tremor keeps some rhythm by chance, in proportion to its size. Rocking adds ten times as much as
# it moves from one mean to the next.
BY_CHANCE = 0.3
# Of a wheel that was rocked to the end, the whole of the stretches keeps the rhythm as the ends do,
# but for the first strokes; what the ends show by chance, it does not.
THROUGHOUT = 2.0


def rhythm_kept(
    axis: Coordinate, stretches: list[tuple[int, int]], end_s: float, leaving_s: float
) -> float | None:
    """Return what rocking adds to the ends of some stretches; None if too few can be judged.

    How long a whole rock takes is a person's habit: it is the time that all the readings of all
    the stretches keep best.

    Args:
        axis: The readings.
        stretches: (first, end) of the readings of each.
        end_s: The length of the end that is judged, in seconds.
        leaving_s: What comes after it and does not belong to the stretch, in seconds.

    Returns:
        The mean square distance from half a rock before less that from a whole one, and less what
        tremor may add by chance, in digits squared: nearly half the square of the width of an
        even rock, about zero or less without one.
    """
    if len(stretches) < FEWEST_STRETCHES:
        return None
    size = bin_size(axis)
    bin_s = size * axis.spacing_s
    rocks = np.arange(round(QUICKEST_S / bin_s), round(SLOWEST_S / bin_s) + 1)
    edges = np.array(stretches, dtype=np.int64)
    first = -(-edges[:, 0] // size) + round(ARRIVING_S / bin_s)
    stop = np.maximum(edges[:, 1] // size - round(leaving_s / bin_s), 0)
    value = binned(axis, 0, len(axis.count))
    if not len(value):
        return None
    sums = _sums_of_squares(value, int(rocks[0]) // 2, int(rocks[-1]))
    everywhere = _halfway_less_whole(sums, rocks, first, first, stop)
    throughout = usual(np.nan_to_num(everywhere))
    habit = int(np.argmax(throughout))
    begin = np.maximum(stop - max(1, round(end_s / bin_s)), 0)
    ends = _halfway_less_whole(sums, rocks, begin, first, stop)[habit]
    told = ~np.isnan(ends)
    if told.sum() < FEWEST_STRETCHES:
        return None
    step = _sums_of_squares(value, 1, 1)[0]
    quick = (step[stop] - step[begin]) / np.maximum(stop - begin, 1)
    kept = np.minimum(usual(ends[told]), THROUGHOUT * throughout[habit])
    return float(kept - BY_CHANCE * usual(quick[told]))


def usual(values: Floats) -> Floats:
    """Return the mean of the middle third along the last axis.

    The first visit may have the setting up in it, the last one what came after the work: neither
    must decide, not even together.
    """
    many = values.shape[-1]
    cut = many // 3
    middle = np.sort(values, axis=-1)[..., cut : many - cut]
    return np.asarray(middle.sum(axis=-1) / (many - 2 * cut), dtype=np.float64)


def bin_size(axis: Coordinate) -> int:
    """Return how many readings make a mean."""
    return max(1, round(BIN_S / axis.spacing_s))


def binned(axis: Coordinate, first: int, end: int) -> Floats:
    """Return the means of some readings at a time, in digits from the first one."""
    size = bin_size(axis)
    many = (end - first) // size
    groups = (axis.count[first : first + many * size] - axis.count[first]).reshape(many, size)
    return np.asarray(groups.sum(axis=1) / (size * axis.digit), dtype=np.float64)


def _sums_of_squares(value: Floats, least: int, most: int) -> Floats:
    """Return running sums of the squared distance from earlier values; a row for each lag."""
    many = len(value)
    padded = np.concatenate((np.full(most, value[0]), value))
    earlier = sliding_window_view(padded, many)[most - np.arange(least, most + 1)]
    sums = np.zeros((most - least + 1, many + 1))
    np.cumsum((value - earlier) ** 2, axis=1, out=sums[:, 1:])
    return sums


def _halfway_less_whole(sums: Floats, rocks: Ints, begin: Ints, first: Ints, stop: Ints) -> Floats:
    """Return the difference of the mean squares: a row for each length of a rock.

    The values from `begin` to `stop` of each stretch are compared with what came before them,
    from `first` on; NaN where too little did.
    """
    least = int(rocks[0]) // 2
    row = np.arange(len(sums))[:, None]
    since = np.maximum(begin, first + row + least)
    many = stop - since
    added = sums[row, stop] - sums[row, np.minimum(since, sums.shape[1] - 1)]
    mean = np.where(many >= FEWEST_PAIRS, added / np.maximum(many, 1), np.nan)
    halfway = 0.5 * (mean[rocks // 2 - least] + mean[(rocks + 1) // 2 - least])
    return np.asarray(halfway - mean[rocks - least], dtype=np.float64)
