"""What a person sees while a capture is recorded: the indication, the extremes, the phase."""

from typing import TextIO

from rockhold.capture.trace import step_mm
from rockhold.measure.limits import EndPlayLimits
from rockwire import hold, units
from rockwire import messages as m

_WORDS = {hold.ROCKING: "rocking", hold.SETTLING: "settling, hold still", hold.HELD: "held"}
_LINE_EVERY_S = 5.0  # where the output is no terminal


class Live:
    """Shows the board's messages as they are stored.

    Args:
        out: Where to write; on a terminal one line is written over and over.
        limits: The procedure's end-play step, for the hold tracker.
    """

    def __init__(self, out: TextIO, limits: EndPlayLimits) -> None:
        self._out = out
        self._limits = limits
        self._over = out.isatty()
        self._scale: units.Scale | None = None
        self._tracker: hold.HoldTracker | None = None
        self._low = self._high = 0
        self._readings = 0
        self._holds = 0
        self._next_line_us = 0

    def __call__(self, message: tuple[object, ...]) -> None:
        """Take a message that was just stored."""
        if isinstance(message, m.Readings) and message.source == 0:
            if message.scale != self._scale:
                self._begin(message)
            for t_us, count in zip(message.t_us, message.count, strict=True):
                self._take(t_us, count)
            self._show(message)
        elif isinstance(message, m.Event):
            self.say(f"{message.t_us / 1e6:8.2f} s  {_event_text(message)}")
        elif isinstance(message, m.Dropped):
            self.say(f"{message.readings} readings found no room on the board")

    def say(self, text: str) -> None:
        """Write a line that stays."""
        clear = "\r\x1b[K" if self._over else ""
        self._out.write(f"{clear}{text}\n")
        self._out.flush()

    def end(self) -> None:
        """Leave the line that was written over."""
        if self._over:
            self._out.write("\n")
            self._out.flush()

    def _begin(self, message: m.Readings) -> None:
        limits = self._limits
        self._scale = message.scale
        self._low = self._high = message.count[0]
        band = max(1, round(limits.quiet_band_mm / step_mm(message.scale)))
        self._tracker = hold.HoldTracker(
            band, int(limits.hold_s * 1e6), int(limits.settle_s * 1e6), int(limits.gap_s * 1e6)
        )

    def _take(self, t_us: int, count: int) -> None:
        self._readings += 1
        self._low, self._high = min(self._low, count), max(self._high, count)
        assert self._tracker is not None
        if self._tracker.feed(t_us, count) == hold.HELD:
            self._holds += 1

    def _show(self, message: m.Readings) -> None:
        assert self._tracker is not None
        phase = _WORDS[self._tracker.state]
        text = (
            f"{self._text(message.count[-1])} {units.NAMES[message.scale.unit]}   "
            f"lowest {self._text(self._low)}   highest {self._text(self._high)}   "
            f"{self._holds} holds   {phase}"
        )
        if self._over:
            self._out.write(f"\r\x1b[K{text}")
            self._out.flush()
        elif message.t_us[-1] >= self._next_line_us:
            self._next_line_us = message.t_us[-1] + int(_LINE_EVERY_S * 1e6)
            self.say(f"{message.t_us[-1] / 1e6:8.2f} s  {text}")

    def _text(self, count: int) -> str:
        assert self._scale is not None
        value = count * self._scale.mantissa * 10.0**self._scale.exponent
        return f"{value:+.{max(0, -self._scale.exponent)}f}"


_EVENT_TEXTS = {
    m.BUTTON: "the board's button was pressed",
    m.UNIT_CHANGED: "the gauge changed its unit",
    m.GAUGE_SILENT: "the gauge is silent: check its cable and its cell",
    m.GAUGE_HEARD: "the gauge is heard again",
    m.OVER_RANGE: "the gauge is over its range",
    m.BATTERY_LOW: "the board's battery is low",
    m.FRAME_CUT: "a word of the gauge came incomplete and was left out",
    m.WORD_UNKNOWN: "a word of the gauge was not understood and left out",
    m.LINE_NOISE: "spikes on the gauge's line; the word was left out",
    m.EDGES_LOST: "the board missed edges; the words they belong to were left out",
}


def _event_text(event: m.Event) -> str:
    return _EVENT_TEXTS.get(event.code, f"event {event.code} (value {event.value})")
