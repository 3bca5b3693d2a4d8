"""What every source has: a sink for its readings, and the notice that it fell silent."""

from rockwire import messages as m


class Source:
    """An instrument that the board listens to.

    Args:
        sink: Gets `reading(t_us, count, scale)` and `event(code, t_us, value)`.
        silent_us: After this long without a good reading the instrument counts as silent.
    """

    def __init__(self, sink, silent_us: int = 1_000_000) -> None:
        self._sink = sink
        self._silent_us = silent_us
        self._heard_us = None  # time of the last good reading
        self._silent = False

    def poll(self, now_us: int) -> None:
        """Notice an instrument that fell silent."""
        if self._heard_us is None:
            self._heard_us = now_us
        elif not self._silent and now_us - self._heard_us >= self._silent_us:
            self._silent = True
            self._sink.event(m.GAUGE_SILENT, now_us, 0)

    def heard(self, t_us: int) -> None:
        """Note that the instrument spoke."""
        if self._silent:
            self._silent = False
            self._sink.event(m.GAUGE_HEARD, t_us, 0)
        self._heard_us = t_us
