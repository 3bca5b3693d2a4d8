"""One panel on a terminal that is drawn over and over: very large digits, and what to do next."""

import os
import textwrap
from typing import ClassVar, TextIO

from rockhold.live.bigdigits import enlarge

_SAID = 4  # sentences that stay in view
_CLEAR_TO_END = "\x1b[K"
_HIDE_CURSOR, _SHOW_CURSOR = "\x1b[?25l", "\x1b[?25h"
_CLEAR = "\x1b[2J\x1b[H"
_BOLD, _PLAIN = "\x1b[1m", "\x1b[0m"
_GOOD, _BUSY = "\x1b[30;42m", "\x1b[30;43m"


class Panel:
    """A panel of a fixed number of lines at the bottom of what was printed.

    Args:
        out: The terminal.
        block: What a large digit is drawn with.
        coloured: Whether the line that says what to do has a coloured ground.
    """

    COLUMNS: ClassVar[int] = 78  # fewest
    LINES: ClassVar[int] = 16

    def __init__(self, out: TextIO, block: str, coloured: bool) -> None:
        self._out = out
        self._block = block
        self._coloured = coloured
        self._size = os.terminal_size((self.COLUMNS, self.LINES))
        self._columns = self.COLUMNS - 1  # how long a line may be
        self._drawn = 0  # lines of the panel that stand on the screen
        self._said: list[str] = []
        self._body: list[str] = []

    def fits(self, size: os.terminal_size) -> bool:
        """Take the terminal as large as it is now; say whether there is room."""
        if size != self._size:
            self._size, self._columns = size, size.columns - 1
            if self._drawn:  # what stood there is broken anew by the terminal, nobody knows where
                self._out.write(_CLEAR + _SHOW_CURSOR)
                self.forget()
        return size.columns >= self.COLUMNS and size.lines >= self.LINES

    def forget(self) -> None:
        """Draw the next panel below what stands on the screen."""
        self._drawn = 0

    def show(self, title: str, value: str, todo: str, settled: bool, summary: str) -> None:
        """Draw what is known now.

        Args:
            title: What is being recorded.
            value: The indication with its unit.
            todo: What to do next.
            settled: Whether that is good news.
            summary: Holds and extremes.
        """
        number, _, unit = value.partition(" ")
        large = enlarge(number, self._block)
        self._body = [
            textwrap.shorten(title, self._columns, placeholder=" …")
            if len(title) > self._columns
            else title,
            "",
            *[f"  {row}" for row in large[:-1]],
            f"  {large[-1]}  {unit}",
            "",
            "  " + self._emphasise(f" {todo} ", settled),
            "",
            *(
                f"  {line}"
                for line in textwrap.wrap(summary, self._columns - 2, break_on_hyphens=False)
            ),
        ]
        self._draw()

    def say(self, text: str) -> None:
        """Keep a sentence in view."""
        self._said = [*self._said, text][-_SAID:]
        self._draw()

    def beep(self) -> None:
        """Sound the terminal's bell."""
        self._out.write("\a")
        self._out.flush()

    def end(self) -> None:
        """Leave the panel as it stands and give the cursor back."""
        self._out.write(_SHOW_CURSOR if self._drawn else "")
        self._out.flush()
        self._drawn = 0

    def _emphasise(self, text: str, settled: bool) -> str:
        ground = (_GOOD if settled else _BUSY) if self._coloured else ""
        return f"{_BOLD}{ground}{text}{_PLAIN}"

    def _draw(self) -> None:
        said = [
            line
            for text in self._said
            for line in textwrap.wrap(text, self._columns, break_on_hyphens=False)
        ]
        room = self._size.lines - 1  # the cursor's line is not ours
        lines = [*self._body, "", *said[-_SAID:]][:room]
        lines += [""] * (self._drawn - len(lines))
        up = f"\x1b[{self._drawn}A" if self._drawn else ""
        self._out.write(_HIDE_CURSOR + up + "".join(f"\r{line}{_CLEAR_TO_END}\n" for line in lines))
        self._out.flush()
        self._drawn = len(lines)
