"""The resting indication: what the adapter shows with nothing on it, and how much that scatters.

Transducers have an offset that wanders with warmth. Time is cut into blocks of a quarter of a
second; of two quiet blocks in a row the first counts, so that the very begin of a pull never gets
into it. Rest is the median of the last few that counted: a wrench that is being carried shows this
and that for a while.
"""

from collections import deque
from math import fsum, sqrt
from statistics import median

from rockhold.measure.torque.limits import PullLimits

BLOCK_US = 250_000
PATIENCE_US = 1_000_000  # after this long without a quiet block zero is taken as rest
_LEVELS = 9  # blocks whose median is rest
_SCATTERS = 16  # blocks whose lower quartile is the scatter
_QUARTER = 0.25


class Rest:
    """Follows the resting indication, block by block.

    Args:
        limits: What counts as quiet.
        zero_nm: The resting indication, where it is known already.

    Attributes:
        zero_nm: The resting indication so far.
        known: Whether it is known; before that no pull is looked for.
    """

    def __init__(self, limits: PullLimits, zero_nm: float | None = None) -> None:
        self._limits = limits
        self._block = -1
        self._first_us: int | None = None
        self._values: list[float] = []
        self._before: float | None = None  # mean of the block before, if that was quiet
        self._levels: deque[float] = deque(maxlen=_LEVELS)
        self._scatters: deque[float] = deque(maxlen=_SCATTERS)
        self.zero_nm = zero_nm or 0.0
        self.known = zero_nm is not None

    @property
    def scatter_nm(self) -> float:
        """Standard deviation of a reading at rest; 0 before the first quiet blocks."""
        # Of the quieter blocks: while the wrench is handled the scatter is not the adapter's own.
        return sorted(self._scatters)[len(self._scatters) // 4] if self._scatters else 0.0

    def begin(self, t_us: int, peak_nm: float | None) -> bool:
        """Close the block before, when a reading opens a new one.

        Args:
            t_us: Time of the reading that comes next.
            peak_nm: Highest torque of a pull that is going on; None at rest.

        Returns:
            Whether the wrench has come to rest where the pull going on did not see it.
        """
        if self._first_us is None:
            self._first_us = t_us
        block = t_us // BLOCK_US
        if block == self._block:
            return False
        self._block = block
        rested = self._close(peak_nm)
        if t_us - self._first_us >= PATIENCE_US:
            self.known = True
        return rested

    def add(self, torque_nm: float) -> None:
        """Take a reading of the open block."""
        self._values.append(torque_nm)

    def extend(self, torques_nm: list[float]) -> None:
        """Take many readings of the open block."""
        self._values.extend(torques_nm)

    def _close(self, peak_nm: float | None) -> bool:
        values, self._values = self._values, []
        before, self._before = self._before, None
        if len(values) < 2 or max(values) - min(values) > self._limits.quiet_nm:
            return False
        mean = fsum(values) / len(values)
        self._before = mean
        if before is None or abs(mean - before) > self._limits.quiet_nm:
            return False
        if abs(before - self.zero_nm) > self._allowed(peak_nm):
            return False
        if peak_nm is not None:
            self._levels.clear()
        self._levels.append(before)
        self.zero_nm = median(self._levels)
        self.known = True
        square = fsum((value - mean) ** 2 for value in values)
        self._scatters.append(sqrt(square / (len(values) - 1)))
        return peak_nm is not None

    def _allowed(self, peak_nm: float | None) -> float:
        """Return by how much rest may have moved."""
        if not self.known:
            return self._limits.rest_nm
        if peak_nm is None:
            return self._limits.quiet_nm
        # An adapter that was loaded hard may come back to another zero, but not a quarter away.
        return _QUARTER * peak_nm
