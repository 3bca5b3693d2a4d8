"""A 6-axis motion sensor over I2C: how fast the hub turns, and knocks.

The sensor fills its own queue at about 100 samples a second and the board empties it, so nothing is
lost while the board is busy for up to 0.8 s. A sample's time is reckoned back from the moment of
the reading; it is known to one sample period, 10 ms.

Turning rate: the mean of two samples about the chosen axis, in mdeg/s (10 mdeg/s a count).
Knock: the largest step of the acceleration between successive samples on any axis, in mg, over ten
samples; so it does not depend on how the sensor lies.

Source: the parts' public register descriptions, from memory. Another part is one more row in PARTS.
"""

import struct
from collections import namedtuple

from rockwire import messages as m
from rockwire import units

from .base import Source

_TURN = units.Scale(units.MILLIDEGREE_PER_SECOND, 10, 0)
_KNOCK = units.Scale(units.MILLI_G, 1, 0)
_EVERY_US = 40_000
_RETRY_US = 1_000_000
_SAMPLE = 12
_TURN_OF = 2
_KNOCK_OF = 10
_MOST = 90  # samples at a time; the rest waits for the next turn

# who: register and value that name the part. begin: (register, value) pairs to start it.
# level: register and mask of the queue's level, bytes_per: what one unit of the level is.
# full: register, mask of the bit that says the queue ran over. again: pairs that restart the queue.
# queue: register to read from. layout: struct of a sample. turn_at, shock_at: place of the axes.
# turn: (top, bottom), raw · top / bottom is 10 mdeg/s. knock: the same for mg.
Part = namedtuple(
    "Part",
    "who begin level bytes_per full again queue layout turn_at knock_at turn knock period_us",
)

PARTS = {
    # ±500 °/s (65.5 a °/s), ±16 g (2048 a g), 44 Hz filter, 1 kHz / 10, queue of 1024 bytes.
    "mpu6050": Part(
        (0x75, 0x68),
        (
            (0x6B, 0x01),
            (0x1A, 0x03),
            (0x19, 9),
            (0x1B, 0x08),
            (0x1C, 0x18),
            (0x23, 0x78),
            (0x6A, 0x44),
        ),
        (0x72, ">H", 0x7FF),
        1,
        (0x3A, 0x10),
        ((0x6A, 0x44),),
        0x74,
        ">hhhhhh",
        3,
        0,
        (200, 131),
        (125, 256),
        10_000,
    ),
    # ±500 °/s (17.5 mdeg/s a count), ±16 g (0.488 mg a count), 104 Hz, queue of 4096 words.
    "lsm6ds3": Part(
        (0x0F, 0x69),
        ((0x12, 0x44), (0x10, 0x44), (0x11, 0x44), (0x08, 0x09), (0x0A, 0x26)),
        (0x3A, "<H", 0x0FFF),
        2,
        (0x3B, 0x40),
        ((0x0A, 0x00), (0x0A, 0x26)),
        0x3E,
        "<hhhhhh",
        0,
        3,
        (7, 4),
        (61, 125),
        9_615,
    ),
}


class Motion(Source):
    """Empties the sensor's queue.

    Args:
        sinks: Two of them: for the turning rate, and for the knocks.
        bus: Gives `readfrom_mem(address, register, n)` and `writeto_mem(address, register, data)`.
        part: A row of PARTS.
        address: The sensor's address on the bus.
        axis: Which axis is the hub's: 0, 1, 2.
        silent_us: After this long without a sample the sensor counts as silent.
    """

    def __init__(self, sinks, bus, part, address, axis, silent_us=1_000_000) -> None:
        super().__init__(sinks[0], silent_us)
        self._knocks = sinks[1]
        self._bus = bus
        self._part = part
        self._address = address
        self._axis = axis
        self._awake = False
        self._next_us = None
        self._last_us = None
        self._turn = self._turn_n = 0
        self._knock = self._knock_n = 0
        self._before = None

    def drain(self) -> None:
        """Nothing waits outside the sensor."""

    def poll(self, now_us: int) -> None:
        """Read what the sensor has, at most every 40 ms."""
        if self._next_us is None or now_us >= self._next_us:
            self._next_us = now_us + _EVERY_US
            try:
                self._exchange(now_us)
            except OSError:  # nobody answers on the bus; try again in a while
                self._awake = False
                self._next_us = now_us + _RETRY_US
        super().poll(now_us)

    def _exchange(self, now_us: int) -> None:
        part = self._part
        if not self._awake:
            self._wake(now_us)
            return
        if self._get(part.full[0], 1)[0] & part.full[1]:
            # Where a sample begins is not known any more: start the queue afresh and say so.
            self._sink.event(m.EDGES_LOST, now_us, 0)
            self._put(part.again)
            return
        register, layout, mask = part.level
        waiting = (struct.unpack(layout, self._get(register, 2))[0] & mask) * part.bytes_per
        samples = waiting // _SAMPLE  # all of them tell how old the first one is
        left = max(0, samples - _MOST)
        while samples > left:
            few = min(samples - left, 8)  # small pieces: no large buffer, no long hold of the bus
            data = self._get(part.queue, few * _SAMPLE)
            for index in range(few):
                samples -= 1
                t_us = now_us - samples * part.period_us
                if self._last_us is not None:
                    t_us = max(t_us, self._last_us)  # a fast sensor must not step back in time
                self._last_us = t_us
                self._sample(
                    t_us,
                    struct.unpack_from(part.layout, data, index * _SAMPLE),
                )

    def _wake(self, now_us: int) -> None:
        register, expected = self._part.who
        if self._get(register, 1)[0] != expected:
            self._next_us = now_us + _RETRY_US
            return
        self._put(self._part.begin)
        self._before = None
        self._awake = True

    def _sample(self, t_us: int, raw) -> None:
        part = self._part
        self.heard(t_us)
        self._turn += raw[part.turn_at + self._axis]
        self._turn_n += 1
        if self._turn_n == _TURN_OF:
            top, bottom = part.turn
            self._sink.reading(t_us, _nearest(self._turn * top, bottom * _TURN_OF), _TURN)
            self._turn = self._turn_n = 0
        before = self._before or raw
        for axis in range(part.knock_at, part.knock_at + 3):
            self._knock = max(self._knock, abs(raw[axis] - before[axis]))
        self._before = raw
        self._knock_n += 1
        if self._knock_n == _KNOCK_OF:
            top, bottom = part.knock
            self._knocks.reading(t_us, _nearest(self._knock * top, bottom), _KNOCK)
            self._knock = self._knock_n = 0

    def _get(self, register: int, size: int) -> bytes:
        return self._bus.readfrom_mem(self._address, register, size)

    def _put(self, pairs) -> None:
        for register, value in pairs:
            self._bus.writeto_mem(self._address, register, bytes((value,)))


def _nearest(top: int, bottom: int) -> int:
    return (2 * top + bottom) // (2 * bottom)


def build(ports, pins, settings, sinks):
    """Return the source and its feeds."""
    source = Motion(
        sinks,
        ports.i2c(pins["sda"], pins["scl"]),
        PARTS[settings["part"]],
        settings["address"],
        "xyz".index(settings["axis"]),
        settings["silent_ms"] * 1_000,
    )
    return source, ()
