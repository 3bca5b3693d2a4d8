"""What is outside the board in `make soak`: its flash, its instruments, and who judges it."""

import sys
from array import array

from rockboard.stamp_ring import StampRing

STALL_US = 400_000
GAUGE_US, LINE_A_US, LINE_B_US, WORD_US, SAMPLE_US = 71_430, 5_556, 6_025, 12_500, 10_000
FIRST_US = 2_000_000  # the instruments are switched on once the board runs
BLOCK, PAGE = 4_096, 256
ERASED = b"\xff" * PAGE


class Flash:
    """A flash in a file, so that it takes no room in the heap; each erase takes its time."""

    def __init__(self, path, blocks):
        self.path = path
        self.blocks = blocks
        with open(path, "wb") as file:
            for _ in range(blocks):
                file.write(b"\xff" * BLOCK)
        self._file = open(path, "r+b")  # noqa: SIM115 (a chip is not closed)
        self.stall = lambda: None
        self.erases = 0
        self.worn = array("H", bytes(2 * blocks))

    def readblocks(self, block, buffer, offset=0):
        """Read."""
        self._file.seek(block * BLOCK + offset)
        self._file.readinto(buffer)

    def writeblocks(self, block, buffer, offset=0):
        """Program erased bytes."""
        self._file.seek(block * BLOCK + offset)
        self._file.write(buffer)

    def ioctl(self, operation, argument):
        """Tell the size, and erase."""
        if operation == 4:
            return self.blocks
        if operation == 5:
            return BLOCK
        if operation == 6:
            self.stall()
            self.erases += 1
            self.worn[argument] += 1
            self._file.seek(argument * BLOCK)
            for _ in range(BLOCK // PAGE):
                self._file.write(ERASED)
        return 0


class Dma:
    """Two rings of the board, and what fills them by itself."""

    def __init__(self, size, kind):
        self.values = array(kind, bytes(size * {"B": 1, "H": 2, "I": 4}[kind]))
        self.stamps = array("I", bytes(4 * size))
        self.at = 0
        self.ring = StampRing(self.values, self.stamps, size, lambda: self.at)

    def write(self, value, t_us):
        """Write as the channels do."""
        self.values[self.at] = value
        self.stamps[self.at] = t_us & 0xFFFFFFFF
        self.at = (self.at + 1) % len(self.stamps)


class World:
    """What happens outside the board, by itself, whatever the board is doing.

    Args:
        rings: The board's, that its DMA fills: of edges, of two text lines, of converter words.
    """

    def __init__(self, rings):
        self.now_us = 0
        self.edges, self.line_a, self.line_b, self.words = rings
        self.queue = b""
        self.sent = [0, 0, 0, 0, 0]
        self._every = [GAUGE_US, LINE_A_US, LINE_B_US, WORD_US, SAMPLE_US]
        if "gauge" in sys.argv:
            self._every = self._every[:1]
        self._next = [FIRST_US + every for every in self._every]
        self.overruns = 0

    def ticks(self):
        """Return the chip's microsecond ticks."""
        return self.now_us & 0x3FFFFFFF

    def advance(self, by_us):
        """Let time pass."""
        self.now_us += by_us
        for kind, every in enumerate(self._every):
            while self._next[kind] <= self.now_us - 6_000:  # what has ended by now
                self._happen(kind, self._next[kind], self.sent[kind])
                self.sent[kind] += 1
                self._next[kind] += every

    def _happen(self, kind, t_us, number):
        if kind == 0:
            word = number & 0xFFFF
            for bit in range(24):
                data = word >> bit & 1
                self.edges.write(data, t_us)
                self.edges.write(data | 2, t_us + 130)
                t_us += 390 if bit & 3 == 3 else 185
        elif kind in (1, 2):
            line = self.line_a if kind == 1 else self.line_b
            for value in b"%05d\r" % (number % 100_000):
                line.write(value, t_us)
                t_us += 87
        elif kind == 3:
            self.words.write((number & 0xFFFF) << 7, t_us)
        else:
            self.overruns += len(self.queue) > 1_012
            self.queue += b"\0\0\0\0\x08\0\0\0\0\0" + (number & 0x7FFF).to_bytes(2, "big")

    def readfrom_mem(self, address, register, size):
        """Answer as the motion sensor."""
        if register == 0x75:
            return b"\x68"
        if register == 0x72:
            return len(self.queue).to_bytes(2, "big")
        if register == 0x74:
            data, self.queue = self.queue[:size], self.queue[size:]
            return data
        return bytes(size)

    def writeto_mem(self, address, register, data):
        """Take a setting."""


class Judge:
    """Compares what the channels get with what was sent."""

    def __init__(self, kind, every_us, channel):
        self.every_us = every_us
        self.first_us = FIRST_US + every_us
        self.kind = kind
        self.got = 0
        self.missing = 0
        self.worst_us = 0
        self._expected = 1 if kind == 3 else 0  # the converter's first value is given up
        channel.follow = self.reading

    def reading(self, t_us, count, scale):
        """Take a reading."""
        self.got += 1
        number = self._expected if self.kind == 4 else self.number_of(count)
        self.missing += abs(number - self._expected)
        true_us = self.first_us + number * self.every_us
        self.worst_us = max(self.worst_us, abs(t_us - true_us))
        self._expected = number + 1

    def number_of(self, count):
        """Return which reading this is; counts go round."""
        size = (1 << 16, 100_000, 100_000, 1 << 16)[self.kind]
        if self.kind == 3:
            count = (count * (128 << 24) + 64 * 10**10) // (128 * 10**10)
        low = self._expected // size * size + count
        return low if low - self._expected < size // 2 else low - size
