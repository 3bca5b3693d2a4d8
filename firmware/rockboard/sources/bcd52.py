"""The 52-bit clocked word of better indicators: 13 BCD digits, sent when asked for.

The board pulls the request line low; the gauge answers with 52 clock pulses, and the request is let
go at the first of them. Each digit (d1 first) comes least significant bit first:

    d1–d4   all ones
    d5      sign: 0 plus, 8 minus
    d6–d11  digits, the most significant first
    d12     how many digits stand after the point
    d13     unit: 0 mm, 1 inch

The data line is stable around the falling edge of the clock and is read there; the setting
`on_rise` turns that round for a gauge that differs. The clock rests high.

Source: from memory; no published description was at hand, and no figure for the timing. Rates,
pulse widths and the edge have to be looked at on the bench for each gauge. The limits below leave
room on both sides: pulses from 5 µs, 1 ms of rest.
"""

from rockwire import messages as m
from rockwire import units

from .clocked import ClockedSource

BITS = 52


class Bcd52(ClockedSource):
    """Asks the gauge and turns its clock edges into readings.

    Args:
        sink: Gets `reading(t_us, count, scale)` and `event(code, t_us, value)`.
        request: Called with 1 to pull the request line low, with 0 to let it go.
        every_us: How often the gauge is asked.
        on_rise: Whether the data line is read where the clock rises.
        rest_us: A clock that rests this long ends a word.
        shortest_pulse_us: A shorter low or high of the clock is a spike, not a bit.
        silent_us: After this long without a word the gauge counts as silent.
    """

    def __init__(
        self,
        sink,
        request,
        every_us: int = 100_000,
        on_rise: bool = False,
        rest_us: int = 1_000,
        shortest_pulse_us: int = 5,
        silent_us: int = 1_000_000,
    ) -> None:
        super().__init__(sink, BITS, on_rise, rest_us, shortest_pulse_us, silent_us)
        self._request = request
        self._every_us = every_us
        self._asking = False
        self._next_us = None

    def edge(self, level: int, data: int, t_us: int) -> None:
        """Take an edge of the clock; the first one answers the request."""
        if self._asking:
            self._asking = False
            self._request(0)
        super().edge(level, data, t_us)

    def poll(self, now_us: int) -> None:
        """Ask when it is time; close a word once the clock rests."""
        super().poll(now_us)
        if self._next_us is None:
            self._next_us = now_us
        if now_us >= self._next_us and not self._open:
            # A gauge that did not answer gets a fresh request: the line rises in between.
            self._request(0)
            self._request(1)
            self._asking = True
            self._next_us = max(self._next_us + self._every_us, now_us)

    def _word(self, data, t_us: int) -> None:
        digits = [data[at >> 1] >> ((at & 1) * 4) & 15 for at in range(13)]
        sign, places, unit = digits[4], digits[11], digits[12]
        known = (
            digits[:4] == [15] * 4
            and sign in (0, 8)
            and max(digits[5:11]) < 10
            and places < 7
            and unit in (0, 1)
        )
        if not known:
            # The last 32 bits: sign's neighbours, point and unit are in them.
            self._sink.event(m.WORD_UNKNOWN, t_us, int.from_bytes(data[3:], "little"))
            return
        self.heard(t_us)
        count = 0
        for digit in digits[5:11]:
            count = 10 * count + digit
        scale = units.Scale(units.INCH if unit else units.MM, 1, -places)
        self._sink.reading(t_us, -count if sign else count, scale)


def build(ports, pins, settings, sinks):
    """Return the source and its feeds."""
    source = Bcd52(
        sinks[0],
        ports.request(pins["request"]),
        settings["every_ms"] * 1_000,
        settings["on_rise"],
        settings["rest_us"],
        settings["shortest_pulse_us"],
        settings["silent_ms"] * 1_000,
    )
    return source, (ports.edges(pins["data"], pins["clock"], settings["inverted"], source),)
