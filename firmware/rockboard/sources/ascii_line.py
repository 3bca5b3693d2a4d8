"""Lines of text over a UART: indicators and torque adapters that speak plain ASCII.

A line has a sign, digits, a point, perhaps a unit, and ends with CR, LF or both. What else stands
in it differs from instrument to instrument, so the settings describe it with a pattern
(line_pattern.py). A line that holds the text in `over_range` says that the instrument is at its
end.

The time of a reading is that of the first byte of its line. Counts keep the digits as sent: 12.50
is 1250 hundredths. A later line with fewer digits behind the point is brought to the most seen, so
that an instrument that drops zeros does not change its scale again and again.

Source: RS-232 practice, from memory: 4800 or 9600 baud with 7E1, 8N1 or 7E2 are common.
"""

from rockwire import messages as m
from rockwire import units

from .base import Source
from .line_pattern import Reader, split_pattern
from .unit_names import unit_named

LONGEST_LINE = 80  # more than any instrument sends; bounds the memory
_LARGEST = 0x7FFFFFFF  # what a count may be on the wire
_END = (13, 10)


class AsciiLine(Source):
    """Turns bytes with their times into readings.

    Args:
        sink: Gets `reading(t_us, count, scale)` and `event(code, t_us, value)`.
        pattern: How a line looks.
        unit: Unit of lines that name none.
        over_range: Text that stands in a line when the instrument is at its end; "" for none.
        silent_us: After this long without a good line the instrument counts as silent.
        quiet_us: A byte after this long a rest begins a line, whatever stood before it.
    """

    def __init__(
        self,
        sink,
        pattern: str = "{value}{unit}",
        unit: int = units.NONE,
        over_range: str = "",
        silent_us: int = 2_000_000,
        quiet_us: int = 20_000,
    ) -> None:
        super().__init__(sink, silent_us)
        self._reader = Reader(split_pattern(pattern))
        self._unit = unit
        self._over_range = over_range
        self._quiet_us = quiet_us
        self._last_us = None  # time of the last byte
        self._places = 0
        self._line = bytearray(LONGEST_LINE)
        self._length = 0
        self._damaged = False
        self._whole = False  # whether the line's begin was heard
        self._began_us = 0

    def byte(self, value: int, t_us: int, damaged: bool = False) -> None:
        """Take a byte, the time when it had come, and whether the UART found it damaged."""
        if self._last_us is not None and t_us - self._last_us >= self._quiet_us:
            self._rested()
        self._last_us = t_us
        if value in _END and not damaged:
            if self._length:
                self._finish()
            self._length = 0
            self._damaged = False
            self._whole = True
            return
        if not self._length:
            self._began_us = t_us
        if self._length < LONGEST_LINE:
            self._line[self._length] = value & 0x7F
            self._length += 1
        else:
            self._damaged = True
        self._damaged = self._damaged or damaged

    def lose_bytes(self, number: int, t_us: int) -> None:
        """Say that bytes were lost before they got here; their line is given up."""
        self._damaged = True
        self._sink.event(m.EDGES_LOST, t_us, number)

    def poll(self, now_us: int) -> None:
        """Notice an instrument that fell silent."""
        if self._last_us is None:
            self._last_us = now_us
        super().poll(now_us)

    def _rested(self) -> None:
        if self._length:
            self._sink.event(m.FRAME_CUT, self._began_us, self._length)
        self._length = 0
        self._damaged = False
        self._whole = True

    def _finish(self) -> None:
        # What stands before the first line end may be the rest of a line.
        if self._damaged or not self._whole:
            self._sink.event(m.FRAME_CUT, self._began_us, self._length)
            return
        line = str(bytes(self._line[: self._length]), "ascii")
        if self._over_range and self._over_range in line:
            self.heard(self._began_us)
            self._sink.event(m.OVER_RANGE, self._began_us, 0)
            return
        got = self._reader.read(line)
        unit = unit_named(got[2]) if got and got[2] else self._unit
        if got is None or unit is None:
            self._sink.event(m.WORD_UNKNOWN, self._began_us, self._length)
            return
        self.heard(self._began_us)
        count, places, _ = got
        self._places = max(self._places, places)
        count *= 10 ** (self._places - places)
        if abs(count) > _LARGEST:
            self._sink.event(m.OVER_RANGE, self._began_us, 0)
            return
        self._sink.reading(self._began_us, count, units.Scale(unit, 1, -self._places))


def build(ports, pins, settings, sinks):
    """Return the source and its feeds."""
    source = AsciiLine(
        sinks[0],
        settings["pattern"],
        unit_named(settings["unit"]) or units.NONE,
        settings["over_range"],
        settings["silent_ms"] * 1_000,
        max(20_000, 60_000_000 // settings["baud"]),
    )
    feed = ports.uart(
        pins["rx"],
        pins["tx"],
        settings["baud"],
        settings["bits"],
        settings["parity"],
        settings["stop"],
        source,
    )
    return source, (feed,)
