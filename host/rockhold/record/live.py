"""What a person sees while a capture is recorded: the indication, what to do next, the extremes.

It follows the readings with the guide that the board's lamp and beeper use. On a terminal it keeps
one panel up to date; anywhere else it prints plain lines.
"""

import os
import shutil
from typing import TextIO

from rockhold.capture.channels import torque_unit
from rockhold.capture.trace import step_mm
from rockhold.measure.limits import EndPlayLimits
from rockhold.record.panel import Panel
from rockhold.record.torque_live import TorqueLive
from rockwire import guide, units
from rockwire import messages as m

_TODO = {
    guide.ROCKING: "ROCK to and fro, then stop and HOLD",
    guide.STILL: "HOLD STILL",
    guide.HELD: "SETTLED: change sides",
    guide.DONE: "DONE: enough holds; press the button",
}
_WORDS = {
    guide.ROCKING: "rocking",
    guide.STILL: "settling",
    guide.HELD: "held",
    guide.DONE: "done",
}
_LINE_EVERY_US = 5_000_000  # where the output is no terminal


class Live:
    """Shows the board's messages as they are stored.

    Args:
        out: Where to write.
        limits: The procedure's end-play step, for the guide.
        title: What is being recorded.
    """

    def __init__(self, out: TextIO, limits: EndPlayLimits, title: str = "") -> None:
        self._out = out
        self._limits = limits
        self._title = title
        self._scale: units.Scale | None = None
        self._guide: guide.Guide | None = None
        self._phase = guide.ROCKING
        self._next_line_us = 0
        self._link = ""
        self._battery_mv = 0
        self._panel = _panel_for(out)
        self._torque = TorqueLive()

    def __call__(self, message: tuple[object, ...]) -> None:
        """Take a message that was just stored."""
        if isinstance(message, m.Readings) and torque_unit(message) is not None:
            for text in self._torque(message):
                self.say(text)
        elif isinstance(message, m.Readings) and message.source == 0:
            if message.scale != self._scale:
                self._begin(message.scale)
            self._follow(message)
        elif isinstance(message, m.StatusReply):
            self._battery_mv = message.battery_mv
        elif isinstance(message, m.Event):
            self.say(f"{message.t_us / 1e6:.2f} s  {_event_text(message)}")
        elif isinstance(message, m.Dropped):
            self.say(f"{message.readings} readings found no room on the board")

    def linked(self, name: str) -> None:
        """Remember over which link the readings come, "" when there is none."""
        self._link = name

    def say(self, text: str) -> None:
        """Tell something that happened."""
        if self._panel:
            self._panel.say(text)
        else:
            self._out.write(f"{text}\n")
            self._out.flush()

    def end(self) -> None:
        """Leave the panel, with what was said below it."""
        if self._panel:
            self._panel.end()

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

    def _follow(self, message: m.Readings) -> None:
        follower = self._guide
        assert follower is not None
        for t_us, count in zip(message.t_us, message.count, strict=True):
            follower.reading(t_us, count, message.scale)
        changed = follower.phase != self._phase
        self._phase = follower.phase
        if self._panel:
            if changed and self._phase in (guide.HELD, guide.DONE):
                self._panel.beep()
            self._panel.show(
                self._heading(),
                self._text(message.count[-1]),
                _TODO[self._phase],
                self._phase in (guide.HELD, guide.DONE),
                self._summary(follower),
            )
        elif changed or message.t_us[-1] >= self._next_line_us:
            self._next_line_us = message.t_us[-1] + _LINE_EVERY_US
            self.say(
                f"{message.t_us[-1] / 1e6:8.2f} s  {self._text(message.count[-1])}   "
                f"{_WORDS[self._phase]:8}   {self._summary(follower)}"
            )

    def _heading(self) -> str:
        battery = f"   battery {self._battery_mv / 1000:.2f} V" if self._battery_mv else ""
        return f"{self._title}   {self._link or 'NO LINK'}{battery}"

    def _summary(self, follower: guide.Guide) -> str:
        asked = 2 * self._limits.cycles_asked
        torque = f"   torque {self._torque.text}" if self._torque.text else ""
        return (
            f"{min(follower.count, asked)} of {asked} holds   lowest "
            f"{self._text(follower.minimum)}   highest {self._text(follower.maximum)}{torque}"
        )

    def _text(self, count: int | None) -> str:
        assert self._scale is not None
        assert count is not None
        value = count * self._scale.mantissa * 10.0**self._scale.exponent
        return f"{value:+.{max(0, -self._scale.exponent)}f} {units.NAMES[self._scale.unit]}"


def _panel_for(out: TextIO) -> Panel | None:
    size = shutil.get_terminal_size()
    if not out.isatty() or os.environ.get("TERM") == "dumb":
        return None
    if size.columns < Panel.COLUMNS or size.lines < Panel.LINES:
        return None
    block = "█" if "utf" in (out.encoding or "").lower() else "#"
    return Panel(out, block, coloured="NO_COLOR" not in os.environ)


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
