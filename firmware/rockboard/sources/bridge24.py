"""A 24-bit bridge converter on two wires, as torque transducers use it.

The converter pulls its data line low when a value is ready. The board then gives 24 clock pulses
and reads a bit after each rise, the highest first, two's complement; one, two or three further
pulses choose the input and gain of the next value. A clock that stays high for more than 60 µs
switches the converter off, so the pulses come from a state machine of the chip or with interrupts
held back (boards/). Values at either end of the range mean that the bridge is over its range.

    pulses 25: gain 128     26: second input, gain 32     27: gain 64
    rate 10 or 80 values a second, by a pin of the converter
    clock high 0.2–50 µs, low at least 0.2 µs, data valid 0.1 µs after the rise

Without calibration a count is 0.0001 µV/V of the bridge: full range is ±0.5/gain of the excitation,
so one converter step is 1 / (gain · 2**24) V/V. With calibration (`zero`, the converter's value
with no load, and `span`, how many counts a load makes and how many converter steps it makes) a
count is 10**-places of the unit. Calibrate against known loads with `rockhold board settings`.

Source: the public register and timing description of the common two-wire 24-bit bridge converter,
from memory.
"""

from rockwire import messages as m
from rockwire import units

from .base import Source
from .unit_names import unit_named

BITS = 24
_SIGN = 1 << 23
_TOP = _SIGN - 1
EXTRA_PULSES = {128: 1, 32: 2, 64: 3}
# 10**10 parts of a V/V are 10**4 parts of a µV/V.
_UNCALIBRATED = units.Scale(units.MICROVOLT_PER_VOLT, 1, -4)
_PARTS = 10**10


class Bridge24(Source):
    """Turns the converter's words into readings.

    Args:
        sink: Gets `reading(t_us, count, scale)` and `event(code, t_us, value)`.
        gain: 128, 64 or 32.
        scale: What a calibrated count is; None without calibration.
        zero: The converter's value with no load.
        span: (counts, converter steps) of the calibration load.
        silent_us: After this long without a word the converter counts as silent.
    """

    def __init__(self, sink, gain=128, scale=None, zero=0, span=None, silent_us=1_000_000) -> None:
        super().__init__(sink, silent_us)
        self._scale = scale or _UNCALIBRATED
        self._zero = zero if scale else 0
        self._span = span if scale else (_PARTS, gain << BITS)
        self._skip = 1  # the first value was taken before the gain was chosen

    def word(self, raw: int, t_us: int) -> None:
        """Take 24 bits as they came, the first the highest, and the time when they were ready."""
        if self._skip:
            self._skip -= 1
            return
        value = raw - (_SIGN << 1) if raw & _SIGN else raw
        self.heard(t_us)
        if value in (-_SIGN, _TOP):
            self._sink.event(m.OVER_RANGE, t_us, value)
            return
        counts, steps = self._span
        self._sink.reading(t_us, rounded((value - self._zero) * counts, steps), self._scale)

    def lose_words(self, number: int, t_us: int) -> None:
        """Say that words were lost before they got here."""
        self._sink.event(m.EDGES_LOST, t_us, number)


def rounded(top: int, bottom: int) -> int:
    """Return the nearest whole number to top / bottom; halves go away from zero."""
    if bottom < 0:
        top, bottom = -top, -bottom
    half = (2 * abs(top) + bottom) // (2 * bottom)
    return -half if top < 0 else half


def build(ports, pins, settings, sinks):
    """Return the source and its feeds."""
    scale = None
    if settings["span"]:
        scale = units.Scale(unit_named(settings["unit"]) or units.NONE, 1, -settings["places"])
    source = Bridge24(
        sinks[0],
        settings["gain"],
        scale,
        settings["zero"],
        settings["span"],
        settings["silent_ms"] * 1_000,
    )
    pulses = BITS + EXTRA_PULSES[settings["gain"]]
    return source, (ports.bridge(pins["data"], pins["clock"], pulses, source),)
