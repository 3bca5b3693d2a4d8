"""The 24-bit clocked word of low-cost indicators and calipers.

The clock line rests high. A word is 24 clock pulses; the data line is read where the clock rises.
Bits 0–15 are the magnitude, least significant first; bit 20 says negative, bit 23 inch. A count is
0.01 mm or 0.0005 in. Between words the clock rests for tens of milliseconds.

Source: libsigrokdecode, decoder `caliper` (facts only); timings read off the logic-analyser
recordings of the sigrok-dumps collection: low 40–135 µs, high 44–60 µs, at most 411 µs between
rising edges inside a word, about 66 ms between words.

A word counts only when exactly 24 pulses stand between two rests. What begins inside a word, or has
a lost edge or a spike, therefore loses that word, is reported, and gives no reading.
"""

from rockwire import messages as m
from rockwire import units

BITS = 24
_NEGATIVE = 1 << 20
_INCH = 1 << 23
_KNOWN = 0xFFFF | _NEGATIVE | _INCH


class Clocked24:
    """Turns clock edges into readings.

    Args:
        sink: Gets `reading(t_us, count, scale)` and `event(code, t_us, value)`.
        rest_us: A clock that rests this long ends a word; well above 411 µs, far below 66 ms.
        shortest_pulse_us: A shorter low or high of the clock is a spike, not a bit.
        silent_us: After this long without a word the gauge counts as silent.
    """

    kind = 0

    def __init__(
        self,
        sink,
        rest_us: int = 3_000,
        shortest_pulse_us: int = 15,
        silent_us: int = 1_000_000,
    ) -> None:
        self._sink = sink
        self._rest_us = rest_us
        self._shortest_pulse_us = shortest_pulse_us
        self._silent_us = silent_us
        self._word = 0
        self._bits = 0
        self._spikes = 0
        self._lost = 0
        self._open = False  # whether edges came since the last rest
        self._began_us = 0
        self._edge_us = 0
        self._heard_us = None  # time of the last good word
        self._silent = False

    def edge(self, level: int, data: int, t_us: int) -> None:
        """Take an edge of the clock: its level after the edge, the data level, the time in µs."""
        width = t_us - self._edge_us
        if self._open and width >= self._rest_us:
            self._finish()
        if not self._open:
            self._open = True
            self._began_us = t_us
            width = self._rest_us
        if width < self._shortest_pulse_us:
            self._spikes += 1
        elif level:
            if data and self._bits < BITS:
                self._word |= 1 << self._bits
            self._bits += 1
        self._edge_us = t_us

    def lose_edges(self, number: int, t_us: int) -> None:
        """Say that edges were lost before they got here; the word they belong to is given up."""
        self._lost += number
        self._sink.event(m.EDGES_LOST, t_us, number)

    def poll(self, now_us: int) -> None:
        """Close a word once the clock rests; notice a gauge that fell silent."""
        if self._open and now_us - self._edge_us >= self._rest_us:
            self._finish()
        if self._heard_us is None:
            self._heard_us = now_us
        elif not self._silent and now_us - self._heard_us >= self._silent_us:
            self._silent = True
            self._sink.event(m.GAUGE_SILENT, now_us, 0)

    def _finish(self) -> None:
        if self._spikes:
            self._sink.event(m.LINE_NOISE, self._began_us, self._spikes)
        elif self._bits != BITS or self._lost:
            self._sink.event(m.FRAME_CUT, self._began_us, self._bits)
        elif self._word & ~_KNOWN:
            self._sink.event(m.WORD_UNKNOWN, self._began_us, self._word)
        else:
            self._good_word()
        self._word = 0
        self._bits = 0
        self._spikes = 0
        self._lost = 0
        self._open = False

    def _good_word(self) -> None:
        if self._silent:
            self._silent = False
            self._sink.event(m.GAUGE_HEARD, self._began_us, 0)
        self._heard_us = self._began_us
        count = self._word & 0xFFFF
        if self._word & _NEGATIVE:
            count = -count
        scale = units.HALF_THOU if self._word & _INCH else units.HUNDREDTH_MM
        self._sink.reading(self._began_us, count, scale)
