"""The hold tracker of rockwire.hold for all readings at once, and the events it would give.

The tracker looks at one reading after the other; here the longest quiet stretch ending at each
reading comes from a doubling search (cost n log n). A test shows both to be equal.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rockwire.hold import HELD, LOST, ROCKING, SETTLING

Ints = NDArray[np.int64]


def middle_of_three(count: Ints) -> Ints:
    """Return the middle one of each reading and its two neighbours; the ends stay as they are."""
    out = count.copy()
    if len(count) >= 3:
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
    if n < 2:
        return starts
    highs, lows = [count], [count]
    size = 1
    while 2 * size <= n:
        highs.append(np.maximum(highs[-1][:-size], highs[-1][size:]))
        lows.append(np.minimum(lows[-1][:-size], lows[-1][size:]))
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


def blocks(t_us: Ints, gap_us: int) -> list[tuple[int, int]]:
    """Return (first, end) of each block of readings without a silence longer than gap_us."""
    if not len(t_us):
        return []
    cuts = np.flatnonzero(np.diff(t_us) > gap_us) + 1
    edges = [0, *cuts.tolist(), len(t_us)]
    return list(pairwise(edges))


def tracker_events(
    t_us: Ints, count: Ints, band: int, hold_us: int, settle_us: int, gap_us: int
) -> list[tuple[int, int]]:
    """Return (index of the reading that brought the event, event), as HoldTracker.feed does."""
    events: list[tuple[int, int]] = []
    state = ROCKING
    for first, end in blocks(t_us, gap_us):
        if state != ROCKING:
            events.append((first, LOST if state == HELD else ROCKING))
            state = ROCKING
        judged = middle_of_three(count[first:end])[1:-1]
        times = t_us[first + 1 : end - 1]
        if not len(judged):
            continue
        quiet_us = times - times[quiet_starts(judged, band)]
        states = np.full(len(judged), ROCKING)
        states[quiet_us >= settle_us] = SETTLING
        states[quiet_us >= hold_us] = HELD
        before = np.concatenate(([state], states[:-1]))
        for index in np.flatnonzero(states != before).tolist():
            event = LOST if before[index] == HELD else int(states[index])
            events.append((first + index + 2, event))
        state = int(states[-1])
    return events
