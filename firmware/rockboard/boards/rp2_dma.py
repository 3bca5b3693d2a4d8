"""DMA that copies each value of a state machine or UART into RAM, together with its time.

Source: RP2040 and RP2350 datasheets (rings of DMA), MicroPython `rp2.DMA`.
"""

import rp2
import uctypes

from rockboard.stamp_ring import StampRing


class StampedDma:
    """Two DMA channels that copy each value and its time into rings.

    Args:
        source: Address of the register that is read.
        treq: Which request says that a value is there.
        size: How many values the ring holds; a power of two.
        width: Bytes of a value: 1, 2 or 4.
        timer: Address of the timer's low word.
    """

    def __init__(self, source: int, treq: int, size: int, width: int, timer: int) -> None:
        values_at, self._values = _aligned(size * width)
        stamps_at, self._stamps = _aligned(size * 4)
        self._stamps_at = stamps_at
        self._first, self._second = rp2.DMA(), rp2.DMA()
        second = self._second.pack_ctrl(
            size=2,
            inc_read=False,
            ring_sel=True,
            ring_size=_bits(size * 4),
            irq_quiet=True,
            chain_to=self._first.channel,
        )
        first = self._first.pack_ctrl(
            size=_bits(width),
            inc_read=False,
            ring_sel=True,
            ring_size=_bits(size * width),
            irq_quiet=True,
            treq_sel=treq,
            chain_to=self._second.channel,
        )
        self._second.config(read=timer, write=stamps_at, count=1, ctrl=second, trigger=False)
        self._first.config(read=source, write=values_at, count=1, ctrl=first, trigger=True)
        kind = {1: uctypes.UINT8, 2: uctypes.UINT16, 4: uctypes.UINT32}[width]
        values, stamps = _array(values_at, kind, size), _array(stamps_at, uctypes.UINT32, size)
        self.ring = StampRing(values, stamps, size, self.position)

    def position(self) -> int:
        """Return the place that is written next."""
        return (self._second.write - self._stamps_at) >> 2

    def close(self) -> None:
        """Stop; the console's garbage collector may then have the memory."""
        self._first.close()
        self._second.close()


def _aligned(size: int):
    """Return (address, owner) of memory that begins at a multiple of its size, a power of two."""
    owner = bytearray(2 * size)
    at = uctypes.addressof(owner)
    return at + (-at % size), owner


def _array(at: int, kind: int, size: int):
    return uctypes.struct(at, {"all": (uctypes.ARRAY | 0, size | kind)}, uctypes.LITTLE_ENDIAN).all


def _bits(size: int) -> int:
    bits = 0
    while 1 << bits < size:
        bits += 1
    return bits
