"""The quiet stretches of rockwire.hold for all readings at once.

The tracker looks at one reading after the other; here the longest quiet stretch ending at each
reading comes from a doubling search (cost n log n). A test shows both to be equal.
"""

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


def middle_of_three(count: Ints) -> Ints:
    """Return the middle one of each reading and its two neighbours; the ends stay as they are."""
    out = count.copy()
    a, b, c = count[:-2], count[1:-1], count[2:]
    out[1:-1] = np.maximum(np.minimum(a, b), np.minimum(np.maximum(a, b), c))
    return out


def quiet_starts(count: Ints, band: int) -> Ints:
    """Return for each reading the first index of the longest quiet stretch that ends there.

    Args:
        count: Counts, in the order of time.
        band: Widest spread of a quiet stretch, in counts.
    """
    n = len(count)
    starts = np.arange(n)
    highs, lows = [count], [count]
    size = 1
    while 2 * size <= n:
        high = np.maximum(highs[-1][:-size], highs[-1][size:])
        low = np.minimum(lows[-1][:-size], lows[-1][size:])
        if (high - low).min() > band:
            break  # no stretch is as long, so none is longer
        highs.append(high)
        lows.append(low)
        size *= 2
    high, low = count.copy(), count.copy()
    for level in range(len(highs) - 1, -1, -1):
        size = 1 << level
        back = starts - size
        inside = np.maximum(back, 0)
        new_high = np.maximum(high, highs[level][inside])
        new_low = np.minimum(low, lows[level][inside])
        fits = (back >= 0) & (new_high - new_low <= band)
        starts = np.where(fits, back, starts)
        high = np.where(fits, new_high, high)
        low = np.where(fits, new_low, low)
    return starts
