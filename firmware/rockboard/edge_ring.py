"""Edges on their way from the interrupt to the program.

`push` is what an interrupt handler calls: it stores two small numbers in arrays that exist
already, so it allocates nothing. One writer, one reader.
"""

from array import array


class EdgeRing:
    """A ring of clock edges.

    Args:
        size: How many edges it holds; a gauge that sends 24 bits makes 48 a word.

    Attributes:
        lost: Edges that came while the ring was full.
    """

    def __init__(self, size: int = 512) -> None:
        self._ticks = array("I", bytes(4 * size))
        self._levels = bytearray(size)
        self._size = size
        self._head = 0
        self._tail = 0
        self.lost = 0

    def push(self, ticks: int, levels: int) -> None:
        """Store an edge: ticks in µs, levels with bit 0 the data and bit 1 the clock after it."""
        following = self._head + 1
        if following == self._size:
            following = 0
        if following == self._tail:
            self.lost += 1
            return
        self._ticks[self._head] = ticks
        self._levels[self._head] = levels
        self._head = following

    def drain(self, clock, source) -> None:
        """Hand all stored edges to a source, their time widened."""
        while self._tail != self._head:
            levels = self._levels[self._tail]
            t_us = clock.widen(self._ticks[self._tail])
            following = self._tail + 1
            self._tail = 0 if following == self._size else following
            source.edge(levels >> 1 & 1, levels & 1, t_us)
        if self.lost:
            lost = self.lost
            self.lost = 0
            source.lose_edges(lost, clock.now_us())
