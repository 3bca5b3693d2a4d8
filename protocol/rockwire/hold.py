"""Follow one indicator and say when the wheel is rocked, settles, is held, and when the hold ends.

Integers only; the same file drives the board's lamp, the host's screen and the measurement.

States and events (an event is the state just entered, or LOST):

    ROCKING --(quiet for settle_us)--> SETTLING --(quiet for hold_us)--> HELD
       ^----------------(band left)-------'                               |
       ^-------------------------------(band left, or silence): LOST -----'

"Quiet" means that the readings since `start_us` lie within `band` counts of each other. The
tracker keeps, for each value inside the band, when it was last seen; so it needs `band + 1`
numbers whatever the rate, and finds the longest quiet stretch that ends at the newest reading.
A steady creep leaves the band again and again, so that the stretch never grows old: a slope of
more than `band` per hold time is no hold.

Debounce: what is judged is the middle value of three successive readings, therefore one wild
reading neither ends a hold nor makes one. Every event comes one reading late because of that.
"""

from array import array

ROCKING = 1
SETTLING = 2
HELD = 3
LOST = 4

_NEVER = -1


def middle_of(a: int, b: int, c: int) -> int:
    """Return the middle one of three counts."""
    if a > b:
        a, b = b, a
    if b > c:
        b = c if c > a else a
    return b


class HoldTracker:
    """Turn readings into events; memory does not grow with the number of readings.

    Args:
        band: Widest spread of a quiet stretch, in counts of the gauge; zero or more.
        hold_us: How long a hold must last, in microseconds.
        settle_us: How long it must be quiet before "settling" is said, in microseconds.
        gap_us: Silence after which what was before no longer counts, in microseconds.

    Attributes:
        state: ROCKING, SETTLING or HELD.
        start_us: Board time of the first reading of the present quiet stretch.
        end_us: Board time of the newest reading that was judged.
        low: Smallest count of the quiet stretch (twice the level is low + high).
        high: Largest count of the quiet stretch.
    """

    def __init__(self, band: int, hold_us: int, settle_us: int, gap_us: int) -> None:
        if band < 0:
            raise ValueError("band must be zero or more counts, got %d" % band)
        self._band = band
        self._hold_us = hold_us
        self._settle_us = settle_us
        self._gap_us = gap_us
        self._slots = band + 1
        # Reading number of the newest reading of each value, found at value modulo band + 1;
        # values of one quiet stretch never share a slot.
        self._seen = array("l", [_NEVER] * self._slots)
        self._after_us = [0] * self._slots  # board time of the reading that followed it
        self.state = ROCKING
        self.low = 0
        self.high = 0
        self.start_us = 0
        self.end_us = 0
        self._fresh = 0  # readings held back for the middle of three: 0, 1 or 2
        self._c1 = self._t2 = self._c2 = 0
        self._run = 0  # readings in the quiet stretch
        self._last_slot = 0

    def feed(self, t_us: int, count: int) -> int:
        """Take one reading and return an event, or 0 when nothing changed.

        Args:
            t_us: Board time, not decreasing, in microseconds.
            count: What the gauge shows, in counts.
        """
        if self._fresh and t_us - self._t2 > self._gap_us:
            event = 0
            if self.state != ROCKING:
                event = LOST if self.state == HELD else ROCKING
            self._forget()
            self.state = ROCKING
        elif self._fresh == 2:
            event = self._judge(self._t2, middle_of(self._c1, self._c2, count))
        else:
            event = 0
        self._c1 = self._c2
        self._t2, self._c2 = t_us, count
        if self._fresh < 2:
            self._fresh += 1
        return event

    def after(self, quiet_us: int) -> int:
        """Return the state after so long a quiet stretch."""
        if quiet_us >= self._hold_us:
            return HELD
        return SETTLING if quiet_us >= self._settle_us else ROCKING

    def _forget(self) -> None:
        self._fresh = 0
        for slot in range(self._slots):
            self._seen[slot] = _NEVER
        self._run = 0

    def _judge(self, t_us: int, count: int) -> int:
        """Move the quiet stretch on by one reading and return the event, or 0."""
        self._extend(t_us, count)
        self.end_us = t_us
        quiet_us = t_us - self.start_us
        before = self.state
        after = self.after(quiet_us)
        self.state = after
        if after == before:
            return 0
        return LOST if before == HELD else after

    def _extend(self, t_us: int, count: int) -> None:
        """Add a value; forget whatever lies further than the band from it."""
        self._after_us[self._last_slot] = t_us
        if not self._run:
            self.start_us = t_us
            self.low = self.high = count
        elif count - self.low > self._band or self.high - count > self._band:
            self._cut(t_us, count)
        elif count < self.low:
            self.low = count
        elif count > self.high:
            self.high = count
        slot = count % self._slots
        self._run += 1
        self._seen[slot] = self._run
        self._last_slot = slot

    def _cut(self, t_us: int, count: int) -> None:
        """Shorten the stretch to begin after the newest reading that lies too far away."""
        newest = _NEVER
        start_us = t_us
        for value in range(self.low, self.high + 1):
            slot = value % self._slots
            if abs(value - count) > self._band and self._seen[slot] > newest:
                newest = self._seen[slot]
                start_us = self._after_us[slot]
        low = high = count
        for value in range(self.low, self.high + 1):
            if self._seen[value % self._slots] > newest:
                low = min(low, value)
                high = max(high, value)
        self.low, self.high, self.start_us = low, high, start_us
