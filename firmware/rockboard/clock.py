"""The board's time: microseconds since power-up, 64 bits, made from a tick counter that wraps."""


class WideClock:
    """Widens the ticks of a port.

    Args:
        ticks_us: Returns the port's microsecond ticks, as `time.ticks_us` does.
        bits: How many bits of the ticks count before they wrap; 30 on the chips.

    It has to be asked at least once in half a wrap (nine minutes at 30 bits); the program's
    ticker does so many times a second.
    """

    def __init__(self, ticks_us, bits: int = 30) -> None:
        self.ticks_us = ticks_us
        self._mask = (1 << bits) - 1
        self._half = 1 << (bits - 1)
        self._last = ticks_us() & self._mask
        self._wide = 0

    def now_us(self) -> int:
        """Return the time since power-up, in microseconds."""
        return self.widen(self.ticks_us())

    def widen(self, ticks: int) -> int:
        """Return the full time of a tick value that is at most half a wrap away from now."""
        ahead = ((ticks - self._last + self._half) & self._mask) - self._half
        wide = self._wide + ahead
        if ahead > 0:
            self._last = ticks & self._mask
            self._wide = wide
        return wide
