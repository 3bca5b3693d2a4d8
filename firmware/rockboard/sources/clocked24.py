"""The 24-bit clocked word of low-cost indicators and calipers.

The clock line rests high. A word is 24 clock pulses; the data line is read where the clock rises.
Bits 0–15 are the magnitude, least significant first; bit 20 says negative, bit 23 inch. A count is
0.01 mm or 0.0005 in. Between words the clock rests for tens of milliseconds.

Source: libsigrokdecode, decoder `caliper` (facts only); timings read off the logic-analyser
recordings of the sigrok-dumps collection: low 40–135 µs, high 44–60 µs, at most 411 µs between
rising edges inside a word, about 66 ms between words.
"""

from rockwire import messages as m
from rockwire import units

from .clocked import ClockedSource

BITS = 24
_NEGATIVE = 1 << 20
_INCH = 1 << 23
_KNOWN = 0xFFFF | _NEGATIVE | _INCH


class Clocked24(ClockedSource):
    """Turns clock edges into readings.

    Args:
        sink: Gets `reading(t_us, count, scale)` and `event(code, t_us, value)`.
        rest_us: A clock that rests this long ends a word; well above 411 µs, far below 66 ms.
        shortest_pulse_us: A shorter low or high of the clock is a spike, not a bit.
        silent_us: After this long without a word the gauge counts as silent.
    """

    def __init__(
        self,
        sink,
        rest_us: int = 3_000,
        shortest_pulse_us: int = 15,
        silent_us: int = 1_000_000,
    ) -> None:
        super().__init__(sink, BITS, True, rest_us, shortest_pulse_us, silent_us)

    def _word(self, data, t_us: int) -> None:
        word = data[0] | data[1] << 8 | data[2] << 16
        if word & ~_KNOWN:
            self._sink.event(m.WORD_UNKNOWN, t_us, word)
            return
        self.heard(t_us)
        count = word & 0xFFFF
        if word & _NEGATIVE:
            count = -count
        self._sink.reading(t_us, count, units.HALF_THOU if word & _INCH else units.HUNDREDTH_MM)


def build(ports, pins, settings, sinks):
    """Return the source and its feeds."""
    source = Clocked24(
        sinks[0],
        settings["rest_us"],
        settings["shortest_pulse_us"],
        settings["silent_ms"] * 1_000,
    )
    return source, (ports.edges(pins["data"], pins["clock"], settings["inverted"], source),)
