"""One source's readings on their way into the capture: batches, extremes, what was dropped."""

from rockwire import frames, wire
from rockwire import messages as m

MOST_IN_BATCH = 40  # a steady gauge fits this many into one frame


class Channel:
    """Collects the readings of one source.

    Args:
        index: The source's index in the capture.
        put: Stores a record; False when there is no room for it.
        longest_us: The oldest reading of a batch waits at most this long.

    Attributes:
        dropped: Readings of this capture that found no room.
    """

    def __init__(self, index: int, put, longest_us: int = 200_000) -> None:
        self._index = index
        self._put = put
        self._longest_us = longest_us
        self.reset()

    def reset(self) -> None:
        """Begin a new capture."""
        self._times = []
        self._counts = []
        self._scale = None
        self._missing = None  # Dropped that still has to be told
        self.dropped = 0
        self._seen = 0  # readings since the unit last changed; the extremes are of these
        self._low = self._low_us = self._high = self._high_us = 0

    @property
    def extremes(self):
        """The Extremes since the unit last changed; None before the first reading."""
        if not self._seen:
            return None
        return m.Extremes(
            self._index,
            self._scale,
            self._low,
            self._low_us,
            self._high,
            self._high_us,
            self._seen,
        )

    def reading(self, t_us: int, count: int, scale) -> None:
        """Take one reading."""
        if scale != self._scale:
            self._change_scale(t_us, scale)
        self._times.append(t_us)
        self._counts.append(count)
        self._extend_extremes(t_us, count)
        if len(self._times) >= MOST_IN_BATCH:
            self.flush()

    def event(self, code: int, t_us: int, value: int) -> None:
        """Put an event into the capture, after the readings that came before it."""
        self.flush()
        self._put(m.Event(code, self._index, t_us, value))

    def poll(self, now_us: int) -> None:
        """Send a batch on its way when its first reading has waited long enough."""
        if self._times and now_us - self._times[0] >= self._longest_us:
            self.flush()

    def flush(self) -> None:
        """Turn the collected readings into records."""
        if self._times:
            times = tuple(self._times)
            counts = tuple(self._counts)
            self._times = []
            self._counts = []
            self._put_batch(times, counts)

    def finish(self) -> None:
        """Close the capture: last batch, what is missing, extremes."""
        self.flush()
        self._tell_missing()
        self._put_extremes()

    def _put_extremes(self) -> None:
        if self._seen:
            self._put(self.extremes)

    def _put_batch(self, times, counts) -> None:
        message = m.Readings(self._index, self._scale, times, counts)
        if len(wire.encode(message)) > frames.LONGEST_RECORD_PAYLOAD:
            # Wild steps need more bytes; half the readings always fit sooner or later.
            middle = len(times) // 2
            self._put_batch(times[:middle], counts[:middle])
            self._put_batch(times[middle:], counts[middle:])
        elif not (self._tell_missing() and self._put(message)):
            self._note_missing(times)

    def _note_missing(self, times) -> None:
        self.dropped += len(times)
        missing = self._missing or m.Dropped(self._index, 0, times[0], 0)
        self._missing = m.Dropped(
            self._index, missing.readings + len(times), missing.first_us, times[-1]
        )

    def _tell_missing(self) -> bool:
        if self._missing and not self._put(self._missing):
            return False
        self._missing = None
        return True

    def _change_scale(self, t_us: int, scale) -> None:
        self.flush()
        if self._scale is not None:
            self._put_extremes()
            self._put(m.Event(m.UNIT_CHANGED, self._index, t_us, scale.unit))
        self._scale = scale
        self._seen = 0

    def _extend_extremes(self, t_us: int, count: int) -> None:
        if not self._seen or count < self._low:
            self._low = count
            self._low_us = t_us
        if not self._seen or count > self._high:
            self._high = count
            self._high_us = t_us
        self._seen += 1
