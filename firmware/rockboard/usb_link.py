"""The link over the chip's own USB port, which is also its console.

What stands in its way, and what is done: a byte 0x03 would interrupt the program (the boards switch
that off while it runs), reading more than there is waits for ever, and so does writing to a host
that has gone. So every byte is asked for first, both ways.
"""

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
        self._byte = bytearray(1)  # kept: an object for each byte would fill the heap

    def read(self) -> bytes:
        """Return what has come; one byte at a time, for reading more than there is would wait."""
        ready, take = self._poll.ipoll, sys.stdin.buffer.readinto
        buffer, byte = self._buffer, self._byte
        count = 0
        while count < len(buffer):
            for _ in ready(0):
                break
            else:
                break
            take(byte)
            buffer[count] = byte[0]
            count += 1
        return bytes(buffer[:count]) if count else b""

    def write(self, data: bytes) -> int:
        """Send what fits and return how much that was; a host that went away takes nothing."""
        ready, give = self._out_poll.ipoll, sys.stdout.buffer.write
        byte = self._byte
        for count, value in enumerate(data):
            for _ in ready(0):
                break
            else:
                return count
            byte[0] = value
            give(byte)
        return len(data)
