"""The terminal under a person's hands: how large it is now, and its modes while it is in use."""

import contextlib
import os
import shutil
import signal
import termios
from collections.abc import Callable
from types import FrameType
from typing import Any, Self, TextIO

_USUAL = (80, 24)
_SHOW_CURSOR = b"\x1b[?25h"


def size_of(out: TextIO) -> os.terminal_size:
    """Return columns and rows of the terminal behind a stream, as they are at this moment."""
    fallback = _USUAL
    with contextlib.suppress(OSError, ValueError):
        if out.isatty():  # standard output may be a file while the person sees this stream
            size = os.get_terminal_size(out.fileno())
            fallback = (size.columns or _USUAL[0], size.lines or _USUAL[1])
    return shutil.get_terminal_size(fallback)


class Taken:
    """A terminal whose modes are changed: put back at the end, and while Ctrl-Z sets us aside.

    Args:
        descriptor: The terminal.
        change: Changes its modes; called again each time the program is taken up.
    """

    def __init__(self, descriptor: int, change: Callable[[int], object]) -> None:
        self._descriptor = descriptor
        self._change = change
        self._before: list[Any] = []
        self._handlers: dict[int, Any] = {}
        self._came_back = False

    def __enter__(self) -> Self:
        """Take the terminal."""
        self._before = termios.tcgetattr(self._descriptor)
        self._change(self._descriptor)
        for number, act in ((signal.SIGTSTP, self._set_aside), (signal.SIGCONT, self._taken_up)):
            self._handlers[number] = signal.signal(number, act)
        return self

    def __exit__(self, *_: object) -> None:
        """Put it back as it was."""
        for number, act in self._handlers.items():
            signal.signal(number, act)
        self._put_back()

    def came_back(self) -> bool:
        """Say, once, that the program was set aside: others have written on the screen since."""
        came_back, self._came_back = self._came_back, False
        return came_back

    def _put_back(self) -> None:
        with contextlib.suppress(termios.error):  # the terminal may be gone
            termios.tcsetattr(self._descriptor, termios.TCSADRAIN, self._before)

    def _set_aside(self, number: int, frame: FrameType | None) -> None:
        self._put_back()
        with contextlib.suppress(OSError):
            os.write(self._descriptor, _SHOW_CURSOR)
        os.kill(os.getpid(), signal.SIGSTOP)

    def _taken_up(self, number: int, frame: FrameType | None) -> None:
        # A shell has given the terminal its own modes meanwhile, also after a SIGSTOP.
        with contextlib.suppress(termios.error):
            self._change(self._descriptor)
        self._came_back = True
