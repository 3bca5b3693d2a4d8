"""Ties a guided job to a recording: keys and readings in, entries to disk, screens out."""

import os
import textwrap
import time
from typing import Protocol, TextIO

from rockhold.capture.steps import DONE, SKIPPED
from rockhold.errors import UsageError
from rockhold.guided import course as c
from rockhold.guided import keys as k
from rockhold.guided.drawing import drawn, keys_lines, lines_of, painted
from rockhold.guided.run import JobRun
from rockhold.guided.screen import Screen, screen_of
from rockhold.live.instruments import INDICATOR, Instruments
from rockhold.live.terminal import size_of
from rockhold.record.ways import Enter
from rockwire import messages as m

_DRAW_EVERY_S = 0.08
_SAY_S = 10.0  # how long something that happened stays in view
_STEPPED_ON_S = 1.5  # a key pressed so soon after was still meant for the step before
_FEWEST_COLUMNS, _FEWEST_ROWS = 60, 20
_CLEAR, _SHOW_CURSOR = "\x1b[2J\x1b[H", "\x1b[?25h"


class Keys(Protocol):
    """Where the person's answers come from."""

    def poll(self, run: JobRun) -> bool:
        """Hand on what came; say whether anything did."""

    def hears_go(self) -> bool:
        """Say whether a GO counts now, whichever key or button it comes from."""

    def pause(self, seconds: float) -> None:
        """Forget what was pressed up to now, and take no GO for so long."""


class Shell:
    """One guided job on a terminal, or in plain lines.

    Args:
        run: The job.
        keys: Where answers come from.
        out: Where the screens go.
        patience_s: A script that waits longer than this for the board is broken off; None for a
            person, who may take all day.
    """

    def __init__(
        self,
        run: JobRun,
        keys: Keys,
        out: TextIO,
        patience_s: float | None = None,
    ) -> None:
        self._run = run
        self._keys = keys
        self._out = out
        self._patience_s = patience_s
        self._enter: Enter | None = None
        self._last: Screen | None = None
        self._said = ""
        self._said_s = 0.0
        self._instruments = Instruments()
        self._drawn_s = 0.0
        self._moved_s = time.monotonic()
        self._link = ""
        self._screened = False
        self._told = ("", "", "")  # keys, sentence and typed words of the lines printed last
        self._fit(size_of(out))

    def opened(self, enter: Enter) -> None:
        """Take the function that writes entries; the capture is open."""
        self._enter = enter
        if self._screened:
            self._out.write(_CLEAR)
        self._settle(True)

    def stored(self, message: tuple[object, ...]) -> None:
        """Take a message that was just stored."""
        self._instruments.take(message)
        if isinstance(message, m.Event) and message.code == m.BUTTON:
            self._button()
        elif isinstance(message, m.Event) and self._matters(message):
            self.say(self._instruments.words(message))
        step = self._run.index
        if self._run.feed(message):
            self._moved_s = time.monotonic()
        if self._run.index != step:  # it was closed by what came, under the person's hands
            self._keys.pause(_STEPPED_ON_S)
        self._settle(False)

    def _fit(self, size: os.terminal_size) -> None:
        """Take the terminal as large as it is: with screens, or with plain lines."""
        self._size = size
        self._width = min(80, size.columns - 1) if self._out.isatty() else 80
        before = self._screened
        self._screened = (
            self._out.isatty()
            and os.environ.get("TERM") != "dumb"
            and size.columns >= _FEWEST_COLUMNS
            and size.lines >= _FEWEST_ROWS
        )
        if self._enter is not None and (before or self._screened):
            self._out.write(_CLEAR + _SHOW_CURSOR)
        self._last, self._told = None, ("", "", "")

    def _matters(self, event: m.Event) -> bool:
        """Say whether an event is worth a word: an instrument that is not in use may be silent."""
        if event.code == m.HOLD_TOLD:
            return False  # the screen says so
        if event.code not in (m.GAUGE_SILENT, m.GAUGE_HEARD):
            return True
        run = self._run
        return (run.measuring if event.source == INDICATOR else run.pulling) is not None

    def _button(self) -> None:
        """Take a press of the board's button as one of the space bar."""
        if self._run.phase != c.WRITE and self._keys.hears_go():
            self._run.press(k.GO)
            self._moved_s = time.monotonic()

    def stop(self) -> bool:
        """Look at the keys and the terminal; say whether the job has ended."""
        if self._keys.poll(self._run) or size_of(self._out) != self._size:
            self._moved_s = time.monotonic()
            self._settle(True)
        waited_s = time.monotonic() - self._moved_s
        if self._patience_s is not None and waited_s > self._patience_s:
            raise UsageError(
                f"--answers waited {self._patience_s:g} s at step {self._run.step.id} for readings "
                "that did not come. Go on with --resume"
            )
        return self._run.phase == c.ENDED

    def say(self, text: str) -> None:
        """Tell something that happened."""
        self._said, self._said_s = text, time.monotonic()
        if not self._screened:
            self._out.write(f"{text}\n")
            self._out.flush()
        elif self._enter is not None:
            self._show(True)

    def linked(self, name: str) -> None:
        """Remember over which link the readings come, "" when there is none."""
        if name and not self._link and self._said_s:
            self._keys.pause(0.0)  # nobody could see what became of keys pressed meanwhile
        self._link = name

    def end(self) -> None:
        """Leave the terminal as it should be."""
        if self._screened:
            self._out.write(f"{_SHOW_CURSOR}\n")
            self._out.flush()

    def _settle(self, now: bool) -> None:
        """Put what was decided on disk, then show what comes next."""
        assert self._enter is not None
        for entry in self._run.take_entries():
            self._enter(entry)
            now = True
            if not self._screened and entry["outcome"] in (DONE, SKIPPED):
                self._out.write(f"   {str(entry['outcome']).upper()}\n")
        self._show(now)

    def _show(self, now: bool) -> None:
        size = size_of(self._out)
        if size != self._size:
            self._fit(size)
        screen = screen_of(self._run)
        if not self._screened:
            self._print(screen)
        elif now or time.monotonic() - self._drawn_s > _DRAW_EVERY_S:
            self._drawn_s = time.monotonic()
            columns, rows = self._size
            block = "█" if "utf" in (self._out.encoding or "").lower() else "#"
            lines = painted(screen, columns, rows - 1, block, "NO_COLOR" not in os.environ)
            lines.append(f" {self._foot()}"[: columns - 1])
            self._out.write(drawn(lines))
            self._out.flush()

    def _foot(self) -> str:
        """Return the last line: what is typed, else what happened, else how all is now."""
        if self._run.phase == c.WRITE:
            return f"> {getattr(self._keys, 'line', '')}_"
        if not self._link or time.monotonic() < self._said_s + _SAY_S:
            return self._said or self._link
        in_use = self._run.measuring or self._run.pulling
        trouble = self._instruments.trouble(in_use is self._run.measuring) if in_use else ""
        return trouble or self._link

    def _print(self, screen: Screen) -> None:
        """Print in plain lines what is new, and for a person also what the keys do."""
        whole = self._print_step(screen)
        keys, said, typed = "", self._run.said, ""
        if self._patience_s is None:
            keys, typed = screen.keys, getattr(self._keys, "line", "")
        before, self._told = self._told, (keys, said, typed)
        lines = (
            textwrap.wrap(said, self._width - 3) if said and said != before[1] and not whole else []
        )
        lines += keys_lines(screen, self._width - 3) if keys != before[0] else []
        self._out.write("".join(f"   {line}\n" for line in lines))
        if typed != before[2]:
            shorter = " " * (len(before[2]) - len(typed))
            self._out.write(f"\r   > {typed}{shorter}" if typed else "\n")
        self._out.flush()

    def _print_step(self, screen: Screen) -> bool:
        """Print what is to be done now; say whether the whole step was printed, its news too."""
        last = self._last
        if last is not None and (last.top, last.title, last.todo) == (
            screen.top,
            screen.title,
            screen.todo,
        ):
            return False
        # A step that failed is shown whole: why, and what to do about it.
        same = (
            last is not None
            and (last.top, last.title) == (screen.top, screen.title)
            and self._run.phase != c.FAILED_
        )
        self._last = screen
        lines = [f"   {screen.todo}"] if same else ["", *lines_of(screen, self._width)]
        self._out.write("".join(f"{line}\n" for line in lines))
        return not same
