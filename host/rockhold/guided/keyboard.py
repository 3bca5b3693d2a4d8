"""Keys from a terminal, one at a time and without waiting; the terminal is always put back."""

import os
import re
import select
import sys
import termios
import time
import tty
from typing import Self

from rockhold.guided import course as c
from rockhold.guided import keys as k
from rockhold.guided.run import JobRun
from rockhold.live.terminal import Taken

_KEYS = {
    " ": k.GO, "\r": k.GO, "\n": k.GO, "n": k.NO, "s": k.SKIP, "b": k.BACK, "f": k.FORWARD,
    "r": k.AGAIN, "q": k.STOP, "p": k.FREE,
}  # fmt: skip
# What arrows, F keys and a mouse send (ECMA-48, 5.4 and 5.5): their letters are no answers.
_OTHER_KEYS = re.compile("\x1b(\\[[0-?]*[ -/]*[@-~]|O.|.)?", re.DOTALL)
_MOST_BYTES = 4096  # of what a hand can press between two looks


class Keyboard:
    """The terminal in one-key mode; Ctrl-C stays what it is."""

    def __init__(self) -> None:
        self._descriptor = sys.stdin.fileno()
        self._terminal = Taken(self._descriptor, tty.setcbreak)
        self._line = ""
        self._deaf_until_s = 0.0

    def __enter__(self) -> Self:
        """Take the terminal."""
        self._terminal.__enter__()
        return self

    def __exit__(self, *_: object) -> None:
        """Put the terminal back as it was."""
        self._terminal.__exit__()

    @property
    def line(self) -> str:
        """The reason that is being typed."""
        return self._line

    def pause(self, seconds: float) -> None:
        """Forget what was pressed up to now, and take no GO for so long.

        It was meant for a screen that went away by itself.
        """
        termios.tcflush(self._descriptor, termios.TCIFLUSH)
        self._deaf_until_s = time.monotonic() + seconds

    def hears_go(self) -> bool:
        """Say whether the pause is over."""
        return time.monotonic() >= self._deaf_until_s

    def poll(self, run: JobRun) -> bool:
        """Hand every key that was pressed to a job; say whether there is something to show."""
        pressed = self._terminal.came_back()
        while select.select([self._descriptor], [], [], 0)[0]:
            data = os.read(self._descriptor, _MOST_BYTES).decode(errors="ignore")
            if not data:
                break
            for character in _OTHER_KEYS.sub("", data):
                self._take(run, character)
            pressed = True
        return pressed

    def _take(self, run: JobRun, character: str) -> None:
        if run.phase == c.WRITE:
            if character in "\r\n":
                run.write(self._line)
                self._line = ""
            elif character in "\x7f\b":
                self._line = self._line[:-1]
            elif character.isprintable():
                self._line += character
        elif character.isdigit():
            run.press(character)
        elif character.lower() in _KEYS:
            key = _KEYS[character.lower()]
            if key != k.GO or self.hears_go():
                run.press(key)
        elif character.isprintable():
            run.said = f"{character} means nothing here; see what the keys do"
