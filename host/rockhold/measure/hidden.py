"""A coarse gauge whose plunger may stand at its free stop: one side moves no more while rocked.

The wheel is rocked by the same angles on both sides. Where one side clearly moves to and fro while
it is rocked, and the other no more than while it is held, either that one's whole motion lies
within a count, or the plunger does not follow there; the readings alone cannot tell the two apart.
Noise at the edge between two counts is the same while rocked and while held, motion is not. To and
fro takes a second or so: means over a third of it leave the motion and take the noise out.
"""

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.choice import Choice, side_distance
from rockhold.measure.coordinate import Coordinate

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BIN_S = 0.28
ARRIVING_S = 0.6  # from half way to the side on: not used
HELD_S, NOT_YET_S = 1.2, 2.2  # the end of a visit was held; what is so long before its end was not
BEFORE_S = 3.0  # of the time before the first hold
FEWEST_BINS = 4  # degrees of freedom of each variance
FEWEST_DIGITS = 1.5  # between the sides
CLEAR, TIMES = 0.1, 2.5  # variance while rocked, in digits squared; against that while held
NO_MORE, CHANCE = 1.5, 0.02


def hides_motion(axis: Coordinate, choice: Choice) -> bool:
    """Return whether one side shows rocking and the other nothing that it does not while held."""
    if not choice.two_sided or side_distance(choice) < FEWEST_DIGITS * axis.digit:
        return False
    rocked, held = _motions(axis, choice)
    for side in (True, False):
        if min(n for _, n in (*rocked.values(), *held.values())) < FEWEST_BINS:
            return False
        (a, n_a), (b, n_b) = rocked[side], held[side]
        (c, n_c), (d, n_d) = rocked[not side], held[not side]
        still = a / n_a <= NO_MORE * b / n_b + CHANCE
        if still and c / n_c >= max(CLEAR, TIMES * (d / n_d + CHANCE)):
            return True
    return False


Motions = dict[bool, tuple[float, int]]


def _motions(axis: Coordinate, choice: Choice) -> tuple[Motions, Motions]:
    """Return for each side the sum of squares and the degrees of freedom, rocked and held."""
    levels = np.array([hold.level for hold in choice.holds])
    middle = 0.5 * float(levels[choice.upper].mean() + levels[~choice.upper].mean())
    rocked: Motions = {True: (0.0, 0), False: (0.0, 0)}
    held: Motions = {True: (0.0, 0), False: (0.0, 0)}
    before_s = choice.holds[0].start_s - BEFORE_S
    opening = True
    for hold, upper in zip(choice.holds, choice.upper.tolist(), strict=True):
        begin = int(np.searchsorted(axis.t_s, before_s))
        beyond = np.flatnonzero((axis.count[begin : hold.end] > middle) == upper)
        before_s, end_s = hold.end_s, hold.end_s
        if not len(beyond):
            continue
        from_s = float(axis.t_s[begin + int(beyond[0])]) + ARRIVING_S
        if not opening:  # the visit that opens the work may begin with anything
            _add(rocked, upper, axis, from_s, end_s - NOT_YET_S)
            _add(held, upper, axis, end_s - HELD_S, end_s)
        opening = False
    return rocked, held


def _add(motions: Motions, upper: bool, axis: Coordinate, from_s: float, to_s: float) -> None:
    """Add the motion of the means over short bins between two times, in digits squared."""
    first, end = np.searchsorted(axis.t_s, [from_s, to_s]).tolist()
    many = max(2, round(BIN_S / axis.spacing_s))
    bins = (end - first) // many
    if bins < 2:
        return
    means = axis.count[first : first + bins * many].reshape(bins, many).mean(axis=1) / axis.digit
    squares, n = motions[upper]
    motions[upper] = (squares + float(((means - means.mean()) ** 2).sum()), n + bins - 1)
