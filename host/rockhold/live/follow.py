"""Follows the indicator while it is rocked and held, in the words that a person is shown."""

from collections import deque

from rockhold.capture.trace import step_mm
from rockhold.measure.limits import EndPlayLimits
from rockwire import guide, units
from rockwire import messages as m

_MOST_AHEAD = 1_000  # readings of the sensor that wait for an indicator; it may have fallen silent

TO_DO = {
    guide.ROCKING: "ROCK to and fro, then stop and HOLD",
    guide.STILL: "HOLD STILL",
    guide.HELD: "SETTLED: change sides",
    guide.DONE: "DONE: enough holds",
}
WORDS = {
    guide.ROCKING: "rocking",
    guide.STILL: "settling",
    guide.HELD: "held",
    guide.DONE: "done",
}


def indication(count: int, scale: units.Scale) -> str:
    """Return an indication as the gauge shows it, with its unit."""
    value = count * scale.mantissa * 10.0**scale.exponent
    return f"{value:+.{max(0, -scale.exponent)}f} {units.NAMES[scale.unit]}"


class Follower:
    """The guide that the board's lamp and beeper use, fed with the readings as they are stored.

    Args:
        limits: The procedure's end-play step.

    Attributes:
        changed: Whether the last readings brought another phase.
        value: The last indication with its unit, "" before the first.
    """

    def __init__(self, limits: EndPlayLimits) -> None:
        self._limits = limits
        self._scale: units.Scale | None = None
        self._guide: guide.Guide | None = None
        self._turning: int | None = None  # the source that tells the turning rate
        self._ahead: deque[tuple[int, int, units.Scale]] = deque(maxlen=_MOST_AHEAD)
        self._shown_us = -1  # the indicator's newest reading
        self._phase = guide.ROCKING
        self.changed = False
        self.value = ""

    @property
    def done(self) -> bool:
        """Whether there are enough holds."""
        return bool(self._phase == guide.DONE)

    @property
    def settled(self) -> bool:
        """Whether the news is good."""
        return self._phase in (guide.HELD, guide.DONE)

    @property
    def word(self) -> str:
        """The phase in a word."""
        return WORDS[self._phase]

    @property
    def to_do(self) -> str:
        """What to do next."""
        return TO_DO[self._phase]

    def take(self, message: tuple[object, ...]) -> bool:
        """Take a message; say whether it brought readings of the indicator."""
        if not isinstance(message, m.Readings):
            return False
        if message.scale.unit == units.MILLIDEGREE_PER_SECOND:
            self._take_turning(message)
        if message.source != 0:
            return False
        if message.scale != self._scale:
            self._begin(message.scale)
        follower = self._guide
        assert follower is not None
        for t_us, count in zip(message.t_us, message.count, strict=True):
            self._turn_until(t_us)
            follower.reading(t_us, count, message.scale)
        self.changed = follower.phase != self._phase
        self._phase = follower.phase
        self.value = self._text(message.count[-1])
        return True

    def _take_turning(self, message: m.Readings) -> None:
        if self._turning is None:
            self._turning = message.source
        if message.source == self._turning:
            rates = zip(message.t_us, message.count, strict=True)
            self._ahead.extend((t_us, rate, message.scale) for t_us, rate in rates)
            self._turn_until(self._shown_us)

    def _turn_until(self, shown_us: int) -> None:
        """Let the guide see the sensor's readings up to the indicator's newest, not those ahead.

        A batch that tells already of the next rock would hide the hold before it.
        """
        self._shown_us = shown_us
        while self._ahead and self._ahead[0][0] <= shown_us:
            reading = self._ahead.popleft()
            if self._guide is not None:
                self._guide.reading(*reading)

    @property
    def holds(self) -> str:
        """How many holds there are, of those that are asked for."""
        asked = 2 * self._limits.cycles_asked
        count = 0 if self._guide is None else self._guide.count
        return f"{min(count, asked)} of {asked} holds"

    def summary(self) -> str:
        """Return holds and extremes in a line."""
        follower = self._guide
        if follower is None:
            return "no readings of the indicator yet"
        return (
            f"{self.holds}   "
            f"lowest {self._text(follower.minimum)}   highest {self._text(follower.maximum)}"
        )

    def _begin(self, scale: units.Scale) -> None:
        limits = self._limits
        self._scale = scale
        self._guide = guide.Guide(
            {
                "band_counts": max(1, round(limits.quiet_band_mm / step_mm(scale))),
                "hold_ms": round(limits.hold_s * 1000),
                "settle_ms": round(limits.settle_s * 1000),
                "gap_ms": round(limits.gap_s * 1000),
                "cycles": limits.cycles_asked,
            }
        )

    def _text(self, count: int | None) -> str:
        assert self._scale is not None
        assert count is not None
        return indication(count, self._scale)
