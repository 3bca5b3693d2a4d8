"""A cable that can be pulled: between the board's pseudo-terminal and one that comes and goes."""

import contextlib
import os
import select
import threading
import tty
from collections.abc import Callable
from pathlib import Path
from typing import Self

_LOOK_S = 0.05
_MOST_BYTES = 4096


def _no_watch(data: bytes) -> None:
    pass


class Cable(threading.Thread):
    """Carries bytes while it is plugged; each time it is plugged the terminal is another one.

    Args:
        device: The board's terminal.
        path: Where a link to the host's terminal is put, as udev names a port by its board.
        watch: Called with what the board says before it goes on.

    Attributes:
        path: Where the host finds the port; gone while the cable is out.
    """

    def __init__(self, device: str, path: Path, watch: Callable[[bytes], None] = _no_watch) -> None:
        super().__init__(daemon=True)
        self.path = path
        self._watch = watch
        self._board = os.open(device, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(self._board)
        self._lock = threading.Lock()
        self._ends: tuple[int, int] | None = None  # ours, and the host's
        self._ended = threading.Event()

    @property
    def plugged(self) -> bool:
        """Whether a host could find the board."""
        return self._ends is not None

    def plug(self) -> None:
        """Make a fresh terminal and name it."""
        with self._lock:
            near, far = os.openpty()
            tty.setraw(far)
            os.set_blocking(near, False)
            self._ends = near, far
            self.path.symlink_to(os.ttyname(far))

    def pull(self) -> None:
        """Take the terminal away, with all that is under way in it."""
        with self._lock:
            self._drop()

    def _drop(self) -> None:
        self.path.unlink(missing_ok=True)
        ends, self._ends = self._ends, None
        for end in ends or ():
            os.close(end)

    def run(self) -> None:
        """Carry bytes until stopped; what the board says while the cable is out is lost.

        A board whose program was ended from outside takes its port with it.
        """
        with contextlib.suppress(OSError):
            self._carry()
        self.pull()

    def _carry(self) -> None:
        while not self._ended.is_set():
            ends = self._ends
            try:
                ready, _, _ = select.select(
                    [self._board, *(ends[:1] if ends else ())], [], [], _LOOK_S
                )
            except OSError:
                if ends is None or self._ends is ends:
                    raise
                continue  # pulled in this very moment
            data = os.read(self._board, _MOST_BYTES) if self._board in ready else b""
            if self._board in ready and not data:
                return  # its program was ended
            self._watch(data)
            with self._lock:
                if self._ends is None:
                    continue
                near = self._ends[0]
                with contextlib.suppress(BlockingIOError):  # nothing there, or nobody takes it
                    if data:
                        os.write(near, data)
                    os.write(self._board, os.read(near, _MOST_BYTES))

    def __enter__(self) -> Self:
        """Plug it in and begin to carry."""
        self.plug()
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Stop, and leave nothing behind."""
        self._ended.set()
        self.join()
        self._drop()
        os.close(self._board)
