"""One source's readings on their way into the capture: batches, extremes, what was dropped."""

from rockwire import frames, wire
from rockwire import messages as m
from rockwire.units import NONE, Scale

MOST_IN_BATCH = 40  # a steady gauge fits this many into one frame

NEVER = 0xFFFFFFFF  # the age of a source that was not heard since power-up

_NO_TROUBLE = (m.GAUGE_SILENT, m.GAUGE_HEARD, m.UNIT_CHANGED)


class Channel:
    """Collects the readings of one source.

    Args:
        index: The source's index in the capture.
        put: Stores a record; False when there is no room for it.
        longest_us: The oldest reading of a batch waits at most this long.

    Attributes:
        active: Whether a capture is running; when not, readings are only noted.
        dropped: Readings of this capture that found no room.
        follow: Called with every reading, recording or not; None for nobody.
        heard: Readings since power-up.
        last_count: The newest reading, and `last_scale` what it counts.
        period_us: Time from reading to reading, smoothed.
        troubles: How often the source reported something other than a reading or silence.
    """

    def __init__(self, index: int, put, longest_us: int = 200_000) -> None:
        self._index = index
        self._put = put
        self._longest_us = longest_us
        self.follow = None
        self.heard = self.last_count = self.period_us = self.troubles = 0
        self.last_scale = Scale(NONE, 1, 0)
        self._last_us = 0
        self.reset()

    def reset(self) -> None:
        """Begin a new capture."""
        self._first_us = 0  # of the batch that is being gathered
        self._after_us = []  # of each of its readings after the first; small, as times are not
        self._counts = []
        self._scale = None
        self._missing = None  # Dropped that still has to be told
        self.dropped = 0
        self.active = True
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
        self._note(t_us, count, scale)
        if self.follow is not None:
            self.follow(t_us, count, scale)
        if not self.active:
            return
        if scale != self._scale:
            self._change_scale(t_us, scale)
        if not self._counts:
            self._first_us = t_us
        self._after_us.append(t_us - self._first_us)
        self._counts.append(count)
        self._extend_extremes(t_us, count)
        if len(self._counts) >= MOST_IN_BATCH:
            self.flush()

    def event(self, code: int, t_us: int, value: int) -> None:
        """Put an event into the capture, after the readings that came before it."""
        if code not in _NO_TROUBLE:
            self.troubles += 1
        if not self.active:
            return
        self.flush()
        self._put(m.Event(code, self._index, t_us, value))

    def poll(self, now_us: int) -> None:
        """Send a batch on its way when its first reading has waited long enough."""
        if self._counts and now_us - self._first_us >= self._longest_us:
            self.flush()

    def flush(self) -> None:
        """Turn the collected readings into records."""
        if self._counts:
            first_us = self._first_us
            times = tuple([first_us + after_us for after_us in self._after_us])
            counts = tuple(self._counts)
            self._after_us = []
            self._counts = []
            self._put_batch(times, counts)

    def finish(self) -> None:
        """Close the capture: last batch, what is missing, extremes."""
        self.flush()
        self._tell_missing()
        self._put_extremes()
        self.active = False

    def age_ms(self, now_us: int) -> int:
        """Return how long ago the newest reading was, in ms; NEVER when there is none."""
        return min((now_us - self._last_us) // 1000, NEVER - 1) if self.heard else NEVER

    def _note(self, t_us: int, count: int, scale) -> None:
        step_us = t_us - self._last_us
        if self.heard > 1:
            self.period_us += (step_us - self.period_us) // 8
        elif self.heard:
            self.period_us = step_us
        self.heard += 1
        self.last_count = count
        self.last_scale = scale
        self._last_us = t_us

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
            if scale.unit != self._scale.unit:
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
