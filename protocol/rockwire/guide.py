"""What the technician is told while the wheel is rocked and held, and what is kept of the holds.

The board's lamp and beeper and the host's screen both follow the indicator with this, so that they
say the same. The tracker's states become a few signals:

    ready     nothing is recorded, all is well
    rocking   recording: the wheel is moving
    still     it comes to rest: hold still
    held      settled: change sides
    done      as many holds as asked for, two to a cycle
    trouble   something is wrong: no gauge, no room, battery low

Where a motion sensor sits on the hub, its turning rate is followed by a second tracker: the wheel
is held only while both are quiet, so that rocking which the indicator hardly shows is no hold. A
sensor that does not turn with the wheel is always quiet and changes nothing; nor does one that fell
silent. What is compared is the spread of the rate, so its offset does not matter.

Kept are the smallest and the largest count since the capture began, and the last holds.
"""

from collections import namedtuple

from . import hold
from .units import INCH, MILLIDEGREE_PER_SECOND, MM, NONE, Scale

READY, ROCKING, STILL, HELD, DONE, TROUBLE = range(6)
KEPT_HOLDS = 12
LAST_US = 500_000  # the last hold lasts longer: the end of the readings cuts into it
STILL_DEG_S = 10  # spread of the turning rate of a held wheel; a gentle rock has three times that
# Turning rates come later than the indicator's readings, in batches: for so long a wheel that stood
# still is taken to do so, and after the longer time the sensor is not there any more.
TURN_LATE_US, TURN_SILENT_US = 300_000, 1_000_000

# A settled hold: from when to when (board time), smallest and largest count.
Hold = namedtuple("Hold", ("start_us", "end_us", "low", "high"))


class Guide:
    """Follows the indicator's readings.

    Args:
        settings: By name: `band_counts`, `hold_ms`, `settle_ms` and `gap_ms` for the tracker, and
            `cycles`, how many are asked for.

    Attributes:
        holds: The last settled holds, the newest last.
        count: How many there were since the capture began.
        minimum, maximum: Smallest and largest count since then; None before the first reading.
        scale: What a count is.
    """

    def __init__(self, settings: dict) -> None:
        self._settings = settings
        self.scale = Scale(NONE, 1, 0)
        self.reset()

    def reset(self) -> None:
        """Begin a new capture."""
        self.holds: list = []
        self.count = 0
        self.minimum: int | None = None
        self.maximum: int | None = None
        self._state = hold.ROCKING
        self._tracker = self._new_tracker(self._settings["band_counts"])
        self._turn = self._new_tracker(STILL_DEG_S)

    def _new_tracker(self, band: int) -> hold.HoldTracker:
        s = self._settings
        return hold.HoldTracker(
            band, s["hold_ms"] * 1000, s["settle_ms"] * 1000, s["gap_ms"] * 1000
        )

    @property
    def phase(self) -> int:
        """What the technician should do while recording: ROCKING, STILL, HELD or DONE."""
        if self.count >= 2 * self._settings["cycles"]:
            return STILL if self._last_is_short else DONE
        if not self.count and self._state != hold.SETTLING:
            return ROCKING
        return (ROCKING, STILL, HELD)[self._state - hold.ROCKING]

    @property
    def _last_is_short(self) -> bool:
        """Whether the last hold goes on, and whoever lets go now takes a part of it away."""
        if self.count > 2 * self._settings["cycles"] or self._state != hold.HELD:
            return False
        last = self.holds[-1]
        return last.end_us - last.start_us < self._settings["hold_ms"] * 1000 + LAST_US

    def _known(self, start_us: int) -> bool:
        """Whether the hold that began then is counted: a late batch of the sensor interrupts it."""
        return bool(self.holds) and self.holds[-1].start_us == start_us

    def reading(self, t_us: int, count: int, scale: Scale) -> None:
        """Take a reading of a length or a turning rate; others are not followed."""
        if scale.unit == MILLIDEGREE_PER_SECOND:
            self._turn.feed(t_us, _in_deg_s(count, scale))
            return
        if scale.unit not in (MM, INCH):
            return
        if scale != self.scale:
            # Counts of another size: what was kept cannot be compared any more.
            self.scale = scale
            self.reset()
        if self.minimum is None or count < self.minimum:
            self.minimum = count
        if self.maximum is None or count > self.maximum:
            self.maximum = count
        self._tracker.feed(t_us, count)
        # A wheel that nobody has moved yet is at rest; that is no hold.
        self._judge(self.maximum - self.minimum > self._settings["band_counts"])

    def _judge(self, moved: bool) -> None:
        """Bring the state and the holds up to date."""
        tracker, turn = self._tracker, self._turn
        state, start_us, end_us = tracker.state, tracker.start_us, tracker.end_us
        if turn.end_us and end_us - turn.end_us <= TURN_SILENT_US:
            start_us = max(start_us, turn.start_us)
            seen_us = min(end_us, turn.end_us)
            if end_us > seen_us + TURN_LATE_US or tracker.after(end_us - start_us) != hold.HELD:
                end_us = seen_us
            state = min(state, tracker.after(end_us - start_us))
        if state == hold.HELD != self._state and moved and not self._known(start_us):
            self.count += 1
            self.holds = self.holds[1 - KEPT_HOLDS :] + [None]
        self._state = state
        if state == hold.HELD and self.holds:
            self.holds[-1] = Hold(start_us, end_us, tracker.low, tracker.high)


def _in_deg_s(count: int, scale: Scale) -> int:
    rate = count * scale.mantissa
    power = 10 ** abs(scale.exponent)
    return (rate * power if scale.exponent >= 0 else rate // power) // 1000
