"""Find the holds of a trace: the quiet stretches, cut back to where the wheel really stood still.

1. Quiet stretches come from the hold tracker's rule (rockhold.measure.quiet), with a band that
   widens when the hand of this technician trembles more than the procedure expects.
2. A stretch may begin while the wheel is still rocked (little runout). The best single change of
   level or scatter inside it, by likelihood, moves its beginning.
3. Each hold knows whether rocking was seen before it.
"""

from dataclasses import dataclass, replace
from statistics import median

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, minimum_filter1d

from rockhold.measure.coordinate import Coordinate
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.quiet import middle_of_three, quiet_starts
from rockhold.measure.splits import Sums, best_split, sums_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# A hold is detected later than it begins: the wheel runs out, the indicator lags, and readings
# are a spacing apart. So a hold of the asked time is seen as this share of it, less 1.5 spacings.
SEEN_SHARE = 0.8
TRIM_S = 0.1  # both ends: the tail of the last rock, the first move of the next
COARSE_MM = 0.004  # a count above this hides rocking
MOST_PARTS = 12
CALM = 1.5
PART_SHARE = 0.8
HANDLING_MM = 0.5  # travel of a rock is less, that of setting the gauge up is more
ROCKED_S = 0.7  # time since the hold before that counts as rocking


@dataclass(frozen=True, slots=True)
class Hold:
    """One hold; counts are of the coordinate's step.

    Attributes:
        first: Index of its first reading.
        end: Index after its last reading.
        start_s: Time of its first reading, in seconds.
        end_s: Time of its last reading, in seconds.
        level: Mean indication, in counts.
        spread: Standard deviation of its readings, in counts.
        n: Readings in the mean.
        rocked: Whether rocking was seen since the hold before.
    """

    first: int
    end: int
    start_s: float
    end_s: float
    level: float
    spread: float
    n: int
    rocked: bool = False

    @property
    def middle_s(self) -> float:
        """Return the middle of the hold, in seconds."""
        return 0.5 * (self.start_s + self.end_s)


def is_coarse(axis: Coordinate) -> bool:
    """Return whether a count is too large to show rocking and the hand's scatter."""
    return axis.digit * axis.step_mm > COARSE_MM


def shortest_s(axis: Coordinate, limits: EndPlayLimits) -> float:
    """Return the shortest quiet time that is taken for a hold of the asked time, in seconds."""
    return max(SEEN_SHARE * limits.hold_s - 1.5 * axis.spacing_s, 0.4 * limits.hold_s)


def quiet_band(axis: Coordinate, middle: Ints, limits: EndPlayLimits) -> int:
    """Return the widest spread of a quiet stretch for this trace, in counts.

    The spread inside a window of nearly the hold time is small in holds and large in rocks; the
    value that parts the two groups best (Otsu's criterion, on a logarithmic scale) is the band,
    within a factor of three of what the procedure expects.
    """
    asked = limits.quiet_band_mm / axis.step_mm
    narrowest = max(int(np.ceil(axis.digit)), int(asked / 3))
    widest = max(narrowest, int(3 * asked))
    size = max(3, round(0.8 * limits.hold_s / axis.spacing_s))
    if len(middle) < 2 * size:
        return max(narrowest, int(asked))
    spread = maximum_filter1d(middle, size) - minimum_filter1d(middle, size)
    many = np.bincount(np.minimum(spread, 4 * widest))
    scale = np.log(np.arange(len(many)) + 2.0)
    below, weighted = np.cumsum(many), np.cumsum(many * scale)
    n, total = below[-1], weighted[-1]
    parted = (total * below - weighted * n) ** 2 / np.maximum(below * (n - below), 1)
    return min(max(narrowest, int(np.argmax(parted))), widest)


def quiet_stretches(
    axis: Coordinate, middle: Ints, band: int, least_s: float, gap_s: float
) -> list[tuple[int, int]]:
    """Return (first, end) of quiet stretches of at least least_s that do not overlap, in order.

    Silence inside a stretch does not count as quiet time.
    """
    t_s = axis.t_s
    starts = quiet_starts(middle, band)
    steps = np.diff(t_s, prepend=t_s[0])
    heard_s = np.cumsum(np.where(steps > gap_s, 0.0, steps))
    quiet_s = heard_s - heard_s[starts]
    last = np.append(starts[1:] != starts[:-1], True)
    ends = np.flatnonzero(last & (quiet_s >= least_s))
    taken: list[tuple[int, int]] = []
    for end in ends[np.argsort(-quiet_s[ends], kind="stable")].tolist():
        first, stop = int(starts[end]), int(end) + 1
        for other_first, other_stop in taken:
            if other_first < stop and first < other_stop:
                if first < other_first:
                    stop = min(stop, other_first)
                else:
                    first = max(first, other_stop)
        if stop - first >= 2 and heard_s[stop - 1] - heard_s[first] >= least_s:
            taken.append((first, stop))
    return sorted(taken)


def parts_of(
    axis: Coordinate, sums: Sums, first: int, end: int, least_s: float, is_last: bool
) -> list[tuple[int, int]]:
    """Return the parts of a quiet stretch in which the wheel may have stood still.

    With a fine gauge that is the last part of some length: rocking shows, the hold ends the
    visit, and what comes after it is the first move to the other side. With a coarse one both
    sides may fit into one stretch, and in the trace's last stretch the wheel may have been let go
    after the hold; so every part of some length is returned.
    """
    enough_s = PART_SHARE * least_s
    every = is_last or is_coarse(axis)

    def lasts(low: int, high: int) -> bool:
        return bool(axis.t_s[high - 1] - axis.t_s[low] >= enough_s)

    parts: list[tuple[int, int]] = []
    pending = [(first, end)]
    while pending and len(parts) < MOST_PARTS:
        low, high = pending.pop()
        if not lasts(low, high):
            continue
        cut = best_split(axis, sums, low, high)
        if cut > low and every:
            pending += [(low, cut), (cut, high)]
        elif cut > low and lasts(cut, high):
            pending.append((cut, high))
        elif cut > low and lasts(low, cut):
            pending.append((low, cut))
        else:
            parts.append((low, high))
    return sorted(parts)


def _calm(
    axis: Coordinate, parts: list[tuple[int, int]], holds: list[Hold]
) -> list[tuple[int, int]]:
    """Return the last part, and those just before it that are as calm as the holds: no rocking."""
    if not holds or len(parts) < 2:
        return parts[-1:]
    most = CALM * median(hold.spread for hold in holds) + 0.3 * axis.digit
    at = len(parts) - 1
    while at > 0 and float(np.std(axis.count[slice(*parts[at - 1])])) <= most:
        at -= 1
    return parts[at:]


def make_hold(axis: Coordinate, first: int, end: int, band: int) -> Hold:
    """Return the hold of the readings first to end, without readings far from the rest."""
    t_s, values = axis.t_s, axis.count[first:end]
    usual = np.sort(values)[len(values) // 2]
    kept = values[np.abs(values - usual) <= band + 1]
    mean = kept.sum() / len(kept)
    spread = float(np.sqrt(((kept - mean) ** 2).sum() / len(kept)))
    return Hold(first, end, float(t_s[first]), float(t_s[end - 1]), float(mean), spread, len(kept))


def part_of(axis: Coordinate, hold: Hold, first: int, end: int) -> Hold:
    """Return a part of a hold, which is as quiet as the whole of it, wild readings left out."""
    band = int(np.ptp(middle_of_three(axis.count[hold.first : hold.end])))
    return replace(make_hold(axis, first, end, band), rocked=hold.rocked)


def find_holds(
    axis: Coordinate, limits: EndPlayLimits, widest: int | None = None
) -> tuple[list[Hold], int]:
    """Return the holds of a trace and the band of quiet that was used, in counts.

    Args:
        axis: The readings.
        limits: What the procedure asks.
        widest: The band is not wider than this, in counts.
    """
    middle = middle_of_three(axis.count)
    band = quiet_band(axis, middle, limits)
    if widest is not None:
        band = max(1, min(band, widest))
    least_s = shortest_s(axis, limits)
    gap_s = max(limits.gap_s, 4 * axis.spacing_s)
    sums = sums_of(axis.count)
    holds: list[Hold] = []
    before_s = float(axis.t_s[0])
    stretches = quiet_stretches(axis, middle, band, least_s, gap_s)
    for first, end in stretches:
        is_last = (first, end) == stretches[-1]
        parts = parts_of(axis, sums, first, end, least_s, is_last)
        for low, high in parts if is_coarse(axis) else _calm(axis, parts, holds):
            begin, stop = trimmed(axis.t_s, low, high, least_s)
            hold = make_hold(axis, begin, stop, band)
            if holds and holds[-1].first >= first and not is_coarse(axis):
                rocked = False  # after the hold the wheel was let go, or the hand moved
            elif holds:
                rocked = hold.start_s - before_s >= ROCKED_S
            else:
                rocked = _rocked_first(axis, first, band)
            holds.append(replace(hold, rocked=rocked))
        before_s = float(axis.t_s[end - 1])
    return holds, band


def _rocked_first(axis: Coordinate, first: int, band: int) -> bool:
    """Return whether the first quiet stretch follows rocking, not rest or the setting up."""
    start_s = axis.t_s[first]
    since = int(np.searchsorted(axis.t_s, start_s - 2 * ROCKED_S))
    if start_s - axis.t_s[0] < ROCKED_S or first - since < 4:
        return False
    before = axis.count[since:first]
    travel = int(before.max() - before.min())
    return band < travel < HANDLING_MM / axis.step_mm


def trimmed(t_s: Floats, first: int, end: int, least_s: float) -> tuple[int, int]:
    """Return the stretch without its two ends, where that leaves enough of it."""
    start_s, end_s = t_s[first], t_s[end - 1]
    room_s = max(0.0, (end_s - start_s) - 0.8 * least_s)
    cut_s = min(TRIM_S, 0.4 * room_s)
    begin = int(np.searchsorted(t_s, start_s + cut_s))
    stop = int(np.searchsorted(t_s, end_s - cut_s, side="right"))
    return (begin, stop) if stop - begin >= 2 else (first, end)
