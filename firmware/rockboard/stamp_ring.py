"""Values and their times that hardware wrote into memory, while the processor may have stood still.

On RP2040 and RP2350 two DMA channels take turns: the first waits for a state machine or a UART and
copies what it has into one ring; the second then copies the microsecond timer into another. No
program takes part, so an erase of the flash, which stops the processor for up to 400 ms, neither
loses a value nor shifts its time by more than a microsecond, as long as the ring does not go round.

Whether it went round shows in the last time that was read: a stamp is written over only when the
hardware came past it, and two stamps are never alike within the timer's 71 minutes.
"""


class StampRing:
    """The reading end.

    Args:
        values: What is written; an array.
        stamps: Their times, low 32 bits of the microsecond timer; an array of the same length.
        size: That length.
        position: Returns the place that is written next.
    """

    def __init__(self, values, stamps, size: int, position) -> None:
        self._values = values
        self._stamps = stamps
        self._position = position
        self._size = size
        self._tail = position()
        self._last = stamps[(self._tail or self._size) - 1]

    def drain(self, clock, take) -> int:
        """Call `take(value, t_us)` for all that came; return how many were lost, at least.

        After an overrun everything in the ring is given up: which part of it is old is not known.
        """
        head = self._position()
        if self._stamps[(self._tail or self._size) - 1] != self._last:
            self._tail = head
            self._last = self._stamps[(head or self._size) - 1]
            return self._size
        at = self._tail
        while at != head:
            take(self._values[at], clock.widen(self._stamps[at]))
            at += 1
            if at == self._size:
                at = 0
        self._tail = head
        self._last = self._stamps[(head or self._size) - 1]
        return 0


class EdgeFeed:
    """Edges from a ring to a clocked source.

    Args:
        ring: A StampRing; bit 0 of a value is the data, bit 1 the clock after the edge.
        clock: The board's clock.
        source: Gets `edge` and `lose_edges`.
        inverted: Whether the level shifter turns both lines round.
    """

    def __init__(self, ring, clock, source, inverted: bool) -> None:
        self._ring = ring
        self._clock = clock
        self._source = source
        self._flip = 3 if inverted else 0

    def drain(self) -> None:
        """Hand on what came."""
        lost = self._ring.drain(self._clock, self._take)
        if lost:
            self._source.lose_edges(lost, self._clock.now_us())

    def _take(self, levels: int, t_us: int) -> None:
        levels ^= self._flip
        self._source.edge(levels >> 1 & 1, levels & 1, t_us)


class ByteFeed:
    """Bytes from a ring to a line source.

    Args:
        ring: A StampRing of a UART's data register: byte in bits 0–7, damage in bits 8–11.
        clock: The board's clock.
        source: Gets `byte` and `lose_bytes`.
    """

    def __init__(self, ring, clock, source) -> None:
        self._ring = ring
        self._clock = clock
        self._source = source

    def drain(self) -> None:
        """Hand on what came."""
        lost = self._ring.drain(self._clock, self._take)
        if lost:
            self._source.lose_bytes(lost, self._clock.now_us())

    def _take(self, value: int, t_us: int) -> None:
        self._source.byte(value & 0xFF, t_us, bool(value & 0xF00))


class WordFeed:
    """Words of a bridge converter from a ring to its source.

    Args:
        ring: A StampRing; the word's 24 bits stand above those of the further pulses.
        clock: The board's clock.
        source: Gets `word` and `lose_words`.
        extra: How many further pulses there are.
    """

    def __init__(self, ring, clock, source, extra: int) -> None:
        self._ring = ring
        self._clock = clock
        self._source = source
        self._extra = extra

    def drain(self) -> None:
        """Hand on what came."""
        lost = self._ring.drain(self._clock, self._take)
        if lost:
            self._source.lose_words(lost, self._clock.now_us())

    def _take(self, value: int, t_us: int) -> None:
        self._source.word(value >> self._extra & 0xFFFFFF, t_us)
