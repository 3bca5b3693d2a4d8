"""What the technician is told while the wheel is rocked and held, and what is kept of the holds.

The board's lamp and beeper and the host's screen both follow the indicator with this, so that they
say the same. The tracker's states become a few signals:

    ready     nothing is recorded, all is well
    rocking   recording: the wheel is moving
    still     it comes to rest: hold still
    held      settled: change sides
    done      as many holds as asked for, two to a cycle
    trouble   something is wrong: no gauge, no room, battery low

Kept are the smallest and the largest count since the capture began, and the last holds.
"""

from collections import namedtuple

from . import hold
from .units import INCH, MM, NONE, Scale

READY, ROCKING, STILL, HELD, DONE, TROUBLE = range(6)
KEPT_HOLDS = 12

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
        s = self._settings
        self._tracker = hold.HoldTracker(
            s["band_counts"], s["hold_ms"] * 1000, s["settle_ms"] * 1000, s["gap_ms"] * 1000
        )

    @property
    def phase(self) -> int:
        """What the technician should do while recording: ROCKING, STILL, HELD or DONE."""
        if self.count >= 2 * self._settings["cycles"]:
            return DONE
        if not self.count and self._tracker.state != hold.SETTLING:
            return ROCKING
        return (ROCKING, STILL, HELD)[self._tracker.state - hold.ROCKING]

    def reading(self, t_us: int, count: int, scale: Scale) -> None:
        """Take a reading of a length; others are not followed."""
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
        tracker = self._tracker
        event = tracker.feed(t_us, count)
        # A wheel that nobody has moved yet is at rest; that is no hold.
        moved = self.maximum - self.minimum > self._settings["band_counts"]
        if event == hold.HELD and moved:
            self.count += 1
            self.holds = self.holds[1 - KEPT_HOLDS :] + [None]
        if tracker.state == hold.HELD and self.holds:
            self.holds[-1] = Hold(tracker.start_us, tracker.end_us, tracker.low, tracker.high)
