"""How a program in front of a person ends: Enter, Ctrl-C, the signals; and Ctrl-Z meanwhile."""

import contextlib
import signal
import sys
import termios
import threading
import time
from collections.abc import Callable, Iterator
from types import FrameType

from rockhold.live.live import Live
from rockhold.live.terminal import Taken


def _told_to_end(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt


@contextlib.contextmanager
def ending_like_ctrl_c(*signals: signal.Signals) -> Iterator[None]:
    """Let signals that ask a program to end do what Ctrl-C does."""
    before = {number: signal.signal(number, _told_to_end) for number in signals}
    try:
        yield
    finally:
        for number, act in before.items():
            signal.signal(number, act)


def at_terminal() -> bool:
    """Say whether a person can press keys here."""
    return sys.stdin is not None and sys.stdin.isatty()


def looking(stop: Callable[[], bool], terminal: Taken, live: Live) -> Callable[[], bool]:
    """Return what also lets the panel know when the person comes back from Ctrl-Z."""

    def look() -> bool:
        if terminal.came_back():
            live.came_back()
        return stop()

    return look


def without_echo(descriptor: int) -> None:
    """Keep Enter from moving the panel."""
    modes = termios.tcgetattr(descriptor)
    modes[3] &= ~termios.ECHO
    termios.tcsetattr(descriptor, termios.TCSANOW, modes)


def stopper(seconds: float | None) -> Callable[[], bool]:
    """Return what says that recording shall stop: after some time, or once Enter is pressed."""
    enter = threading.Event()
    if at_terminal():

        def wait_for_enter() -> None:
            sys.stdin.readline()
            enter.set()

        threading.Thread(target=wait_for_enter, daemon=True).start()
    end = None if seconds is None else time.monotonic() + seconds
    return lambda: enter.is_set() or (end is not None and time.monotonic() >= end)
