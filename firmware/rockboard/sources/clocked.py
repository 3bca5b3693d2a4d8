"""Words that an instrument clocks out bit by bit: what 24-bit and 52-bit gauges share.

The clock line rests high. A word counts only when exactly the right number of pulses stands between
two rests. What begins inside a word, or has a lost edge or a spike, therefore loses that word, is
reported, and gives no reading. The clock goes up and down in turn, so two edges to the same level
say that one between them was missed, or that the levels were read too late. Edges come with their
own time, so it does not matter how late this code sees them.
"""

from rockwire import messages as m

from .base import Source


class ClockedSource(Source):
    """Gathers the bits of a word; `_word` of a subclass says what they mean.

    Args:
        sink: Gets `reading(t_us, count, scale)` and `event(code, t_us, value)`.
        bits: How many bits a word has.
        on_rise: Whether the data line is read where the clock rises, else where it falls.
        rest_us: A clock that rests this long ends a word.
        shortest_pulse_us: A shorter low or high of the clock is a spike, not a bit.
        silent_us: After this long without a word the gauge counts as silent.
    """

    def __init__(
        self,
        sink,
        bits: int,
        on_rise: bool,
        rest_us: int,
        shortest_pulse_us: int,
        silent_us: int,
    ) -> None:
        super().__init__(sink, silent_us)
        self._bits = bits
        self._reads_at = 1 if on_rise else 0
        self._rest_us = rest_us
        self._shortest_pulse_us = shortest_pulse_us
        self._data = bytearray((bits + 7) // 8)  # bit 0 of byte 0 came first
        self._got = 0
        self._spikes = 0
        self._lost = 0
        self._open = False  # whether edges came since the last rest
        self._began_us = 0
        self._edge_us = 0
        self._level = 1  # of the clock after the last edge

    def edge(self, level: int, data: int, t_us: int) -> None:
        """Take an edge of the clock: its level after the edge, the data level, the time in µs."""
        width = t_us - self._edge_us
        if self._open and width >= self._rest_us:
            self._finish()
        if not self._open:
            self._open = True
            self._began_us = t_us
            width = self._rest_us
        elif level == self._level:
            self._lost += 1
        self._level = level
        if width < self._shortest_pulse_us:
            self._spikes += 1
        elif level == self._reads_at:
            if data and self._got < self._bits:
                self._data[self._got >> 3] |= 1 << (self._got & 7)
            self._got += 1
        self._edge_us = t_us

    def lose_edges(self, number: int, t_us: int) -> None:
        """Say that edges were lost before they got here; the word they belong to is given up."""
        self._lost += number
        self._sink.event(m.EDGES_LOST, t_us, number)

    def poll(self, now_us: int) -> None:
        """Close a word once the clock rests; notice a gauge that fell silent."""
        if self._open and now_us - self._edge_us >= self._rest_us:
            self._finish()
        super().poll(now_us)

    def _finish(self) -> None:
        if self._spikes:
            self._sink.event(m.LINE_NOISE, self._began_us, self._spikes)
        elif self._got != self._bits or self._lost:
            self._sink.event(m.FRAME_CUT, self._began_us, self._got)
        else:
            self._word(self._data, self._began_us)
        for at in range(len(self._data)):
            self._data[at] = 0
        self._got = 0
        self._spikes = 0
        self._lost = 0
        self._open = False
