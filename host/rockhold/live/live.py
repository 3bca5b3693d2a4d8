"""What a person sees while a capture is recorded: the indication, what to do next, the extremes.

It follows the readings with the guide that the board's lamp and beeper use. On a terminal it keeps
one panel up to date; anywhere else it prints plain lines.
"""

import os
import textwrap
from typing import TextIO

from rockhold.capture.channels import torque_unit
from rockhold.live.follow import Follower
from rockhold.live.instruments import Instruments
from rockhold.live.panel import Panel
from rockhold.live.terminal import size_of
from rockhold.live.torque_live import TorqueLive
from rockhold.measure.limits import EndPlayLimits
from rockwire import messages as m

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
        self._title = title
        self._follower = Follower(limits)
        self._next_line_us = 0
        self._link = ""
        self._battery_mv = 0
        self._drawing = _panel_for(out)
        self._torque = TorqueLive()
        self._instruments = Instruments()

    def __call__(self, message: tuple[object, ...]) -> None:
        """Take a message that was just stored."""
        self._instruments.take(message)
        if isinstance(message, m.Readings) and torque_unit(message) is not None:
            for text in self._torque(message):
                self.say(text)
        elif isinstance(message, m.Readings) and self._follower.take(message):
            self._show(message.t_us[-1])
        elif isinstance(message, m.StatusReply):
            self._battery_mv = message.battery_mv
        elif isinstance(message, m.Event) and message.code != m.HOLD_TOLD:
            self.say(f"{message.t_us / 1e6:.2f} s  {self._instruments.words(message)}")
        elif isinstance(message, m.Dropped):
            self.say(f"{message.readings} readings found no room on the board")

    @property
    def _panel(self) -> Panel | None:
        """The panel, while the terminal has room for it."""
        panel = self._drawing
        return panel if panel is not None and panel.fits(size_of(self._out)) else None

    def came_back(self) -> None:
        """Take note that others have written on the terminal meanwhile."""
        if self._drawing is not None:
            self._drawing.forget()

    def linked(self, name: str) -> None:
        """Remember over which link the readings come, "" when there is none."""
        self._link = name

    def say(self, text: str) -> None:
        """Tell something that happened."""
        panel = self._panel
        if panel:
            panel.say(text)
        else:
            self._out.write("".join(f"{line}\n" for line in self._lines(text)))
            self._out.flush()

    def _lines(self, text: str) -> list[str]:
        """Break a line between words, where a person reads it on a narrow or dumb terminal."""
        if not self._out.isatty():
            return [text]
        columns = max(20, size_of(self._out).columns - 1)
        return textwrap.wrap(
            text, columns, subsequent_indent=" " * 4, drop_whitespace=True, break_on_hyphens=False
        )

    def end(self) -> None:
        """Leave the panel, with what was said below it."""
        if self._drawing:
            self._drawing.end()

    def _show(self, t_us: int) -> None:
        follower = self._follower
        panel = self._panel
        if panel:
            if follower.changed and follower.settled:
                panel.beep()
            to_do = follower.to_do + ("; press Enter or the button" if follower.done else "")
            panel.show(self._heading(), follower.value, to_do, follower.settled, self._summary())
        elif follower.changed or t_us >= self._next_line_us:
            self._next_line_us = t_us + _LINE_EVERY_US
            self.say(
                f"{t_us / 1e6:8.2f} s  {follower.value}   {follower.word:8}   {self._summary()}"
            )

    def _heading(self) -> str:
        battery = f"   battery {self._battery_mv / 1000:.2f} V" if self._battery_mv else ""
        return f"{self._title}   {self._link or 'NO LINK'}{battery}"

    def _summary(self) -> str:
        torque = f"   torque {self._torque.text}" if self._torque.text else ""
        return self._follower.summary() + torque


def _panel_for(out: TextIO) -> Panel | None:
    if not out.isatty() or os.environ.get("TERM") == "dumb":
        return None
    block = "█" if "utf" in (out.encoding or "").lower() else "#"
    return Panel(out, block, "NO_COLOR" not in os.environ)
