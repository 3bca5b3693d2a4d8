"""The board on a computer: MicroPython's Unix port, a pseudo-terminal for the link, and a socket
that brings the edges which a pin would see.

    micropython unix.py EDGE_SOCKET NAME [SECRET_FILE] < pseudo-terminal

The terminal is open for reading and writing and does not block. The socket carries 9-byte records:
time in µs (u64) and a byte: bit 0 data level, bit 1 clock level, 0x40 the button was pressed and
let go, 0x80 no edge, only the time. The times are the board's clock, so that a recording made
elsewhere keeps its own.
"""

import gc

# First of all, while the heap is one piece; and collect often, so that what compiling the modules
# leaves behind does not scatter them over the whole heap.
RECORD_RING = bytearray(24 * 1024)
gc.threshold(4096)

# ruff: noqa: E402
import asyncio
import select
import socket
import struct
import sys

from rockboard.app import App
from rockboard.clock import WideClock
from rockboard.edge_ring import EdgeRing
from rockboard.identity import Identity, stored_secret
from rockboard.session import Session
from rockboard.sources.clocked24 import Clocked24
from rockwire.sender import Sender

_RECORD = "<QB"
_RECORD_SIZE = 9
_BUTTON = 0x40
_NO_EDGE = 0x80


class TerminalLink:
    """The link on an open file descriptor that does not block."""

    def __init__(self, descriptor: int) -> None:
        self._port = open(descriptor, "r+b", 0)
        self._poll = select.poll()
        self._poll.register(self._port, select.POLLIN)

    def read(self) -> bytes:
        """Return what has come, b"" when nothing has."""
        if not self._poll.poll(0):
            return b""
        try:
            return self._port.read(256) or b""
        except OSError:
            return b""  # the other end of the terminal is closed; it may come back

    def write(self, data: bytes) -> int:
        """Send what fits and return how much that was."""
        try:
            return self._port.write(data) or 0
        except OSError:
            return 0

    async def wait(self) -> None:
        """Wait a little for bytes."""
        await asyncio.sleep_ms(2)


class EdgeFeed:
    """Edges, time and button from the socket, pushed into the ring as an interrupt would.

    It is the board's tick counter too: `ticks_us` is the time of the last record.
    """

    def __init__(self, path: str, ring) -> None:
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self._socket.connect(struct.pack("H", socket.AF_UNIX) + path.encode())
        self._socket.setblocking(False)
        self._ring = ring
        self._part = b""
        self._now = 0
        self._pressed_ms = 0
        self.clock = WideClock(self.ticks_us)
        self.source = None

    def ticks_us(self) -> int:
        """Return the ticks, which wrap like those of a chip."""
        return self._now & 0x3FFFFFFF

    def pressed_ms(self) -> int:
        """Return how long the button was held, once; 0 when it was not pressed."""
        held = self._pressed_ms
        self._pressed_ms = 0
        return held

    def drain(self) -> None:
        """Move what has come to the source."""
        try:
            data = self._part + (self._socket.recv(2048) or b"")
        except OSError:
            return
        whole = len(data) - len(data) % _RECORD_SIZE
        self._part = data[whole:]
        for at in range(0, whole, _RECORD_SIZE):
            self._take(*struct.unpack(_RECORD, data[at : at + _RECORD_SIZE]))
        self._ring.drain(self.clock, self.source)

    def _take(self, t_us: int, levels: int) -> None:
        self._now = t_us
        if levels & _BUTTON:
            self._pressed_ms = 120
        elif not levels & _NO_EDGE:
            self._ring.push(self.ticks_us(), levels)


def main(path: str, name: str, secret_path: str = "") -> None:
    """Run the board until it is killed."""
    secret = stored_secret(secret_path) if secret_path else None
    feed = EdgeFeed(path, EdgeRing())
    session = Session(Identity(name, secret), feed.clock, Sender(RECORD_RING), ((0, "indicator"),))
    source = Clocked24(session.channels[0])
    feed.source = source
    app = App(session, (feed,), (source,), feed.clock, TerminalLink(0), feed)
    asyncio.run(app.run())


if __name__ == "__main__":
    main(*sys.argv[1:])
