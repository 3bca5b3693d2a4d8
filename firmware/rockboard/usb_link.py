"""The link over the chip's own USB port, which is also its console.

What stands in its way, and what is done: a byte 0x03 would interrupt the program (the boards switch
that off while it runs), reading more than there is waits for ever, and so does writing to a host
that has gone. So every byte is asked for first, both ways.
"""

import asyncio
import select
import sys


class UsbLink:
    """The board's own USB port; it never waits, neither for bytes nor for a host."""

    guard = None  # a cable

    def __init__(self) -> None:
        self._poll = select.poll()
        self._poll.register(sys.stdin, select.POLLIN)
        self._out_poll = select.poll()
        self._out_poll.register(sys.stdout, select.POLLOUT)
        self._buffer = bytearray(64)

    def read(self) -> bytes:
        """Return what has come; one byte at a time, for reading more than there is would wait."""
        count = 0
        while count < len(self._buffer) and _ready(self._poll):
            self._buffer[count] = sys.stdin.buffer.read(1)[0]
            count += 1
        return bytes(self._buffer[:count])

    def write(self, data: bytes) -> int:
        """Send what fits and return how much that was; a host that went away takes nothing."""
        count = 0
        while count < len(data) and _ready(self._out_poll):
            sys.stdout.buffer.write(data[count : count + 1])
            count += 1
        return count

    async def wait(self) -> None:
        """Wait a little for bytes."""
        await asyncio.sleep_ms(5)


def _ready(poll) -> bool:
    for _ in poll.ipoll(0):
        return True
    return False
