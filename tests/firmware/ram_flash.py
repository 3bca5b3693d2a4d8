"""A flash chip in memory, for littlefs under MicroPython, whose power can be cut at any time."""

BLOCK = 4_096
PAGE = 256  # what RP2040's flash programs at a time, and MicroPython tells littlefs


class PowerCutError(Exception):
    """The power went in the middle of a write or an erase."""


class RamFlash:
    """A block device.

    Args:
        image: What the chip holds; a bytearray.
        erase: Called before each erase, for instance to let time pass.

    Attributes:
        writes, erases: How many of each there were.
        cut_at: The operation (a write or an erase, counted from 1) that the cut falls into;
            0 for never.
        worn: How often each block was erased.
    """

    def __init__(self, image, erase=lambda: None) -> None:
        self.image = image
        self.writes = 0
        self.erases = 0
        self.cut_at = 0
        self._dead = False  # after a cut: what still runs in this program must not write any more
        self.worn = [0] * (len(image) // BLOCK)
        self._erase = erase

    def readblocks(self, block, buffer, offset=0):
        """Read."""
        if self._dead:
            return
        at = block * BLOCK + offset
        buffer[:] = memoryview(self.image)[at : at + len(buffer)]

    def writeblocks(self, block, buffer, offset=0):
        """Program; bits only go from one to zero, as on the chip."""
        if self._dead:
            return
        self.writes += 1
        at = block * BLOCK + offset
        size = len(buffer)
        if self._is_cut():
            size = self._part(size)
        image = self.image
        for index in range(size):
            image[at + index] &= buffer[index]
        if size < len(buffer) or self._is_cut():
            self._dead = True
            raise PowerCutError

    def ioctl(self, operation, argument):
        """Tell the size, and erase."""
        if self._dead:
            return 0
        if operation == 4:
            return len(self.image) // BLOCK
        if operation == 5:
            return BLOCK
        if operation == 6:
            self._erase()
            self.erases += 1
            self.worn[argument] += 1
            at = argument * BLOCK
            size = self._part(BLOCK) if self._is_cut() else BLOCK
            self.image[at : at + size] = b"\xff" * size
            if self._is_cut():
                self._dead = True
                raise PowerCutError
        return 0

    @property
    def operations(self):
        """How many writes and erases there were."""
        return self.writes + self.erases

    def _is_cut(self):
        return self.operations == self.cut_at

    def _part(self, size):
        # In turns: nothing, a half and all of the operation was done when the power went.
        return (0, size // 2, size)[self.cut_at % 3]
