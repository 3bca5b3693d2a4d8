"""Show every vector of a kind of source to the board's own code and print what it says.

    python run_source_vectors.py KIND VECTOR_FOLDER

Runs on CPython and on MicroPython. The source is built from settings, as the board does.
"""

import json
import os
import struct
import sys
from binascii import unhexlify

from rockboard import settings
from rockboard.boards.pins import PINS
from rockboard.sources import module_of
from rockboard.sources.motion import PARTS
from rockwire import units
from rockwire.words import EVENTS


class Printer:
    """A sink that prints; of `motion` the two sinks print under their own words."""

    def __init__(self, name, word):
        self.name = name
        self.word = word

    def reading(self, t_us, count, scale):
        """Print a reading."""
        row = (units.NAMES[scale.unit], scale.mantissa, scale.exponent)
        print(self.name, self.word, t_us, count, *(row if self.word == "reading" else ()))

    def event(self, code, t_us, value):
        """Print an event."""
        print(self.name, "event", EVENTS[code])


class Bus:
    """An I2C bus with one motion sensor that holds a queue of samples."""

    def __init__(self, part):
        self.part = part
        self.who = part.who[1]
        self.queue = b""
        self.overrun = 0
        self.runs_over = 0

    def readfrom_mem(self, address, register, size):
        """Answer as the sensor would."""
        part = self.part
        if register == part.who[0]:
            return bytes((self.who,))
        if register == part.level[0] and size == 2:
            return struct.pack(part.level[1], len(self.queue) // part.bytes_per)
        if register == part.full[0]:
            return bytes((part.full[1] * self.overrun,))
        assert register == part.queue
        data = self.queue[:size]
        self.queue = self.queue[size:]
        return data

    def writeto_mem(self, address, register, data):
        """Restart the queue when told so."""
        if self.overrun and (register, data[0]) in self.part.again:
            self.queue = b""
            self.overrun = 0


class Ports:
    """Hands out what the vectors need; feeds are nobody's business here."""

    bus = None

    def edges(self, data, clock, inverted, source):
        """Return a feed that has nothing."""

    def request(self, pin):
        """Return a request line that leads nowhere."""
        return lambda level: None

    def uart(self, rx, tx, baud, bits, parity, stop, source):
        """Return a feed that has nothing."""

    def bridge(self, data, clock, pulses, source):
        """Return a feed that has nothing."""

    def i2c(self, sda, scl):
        """Return the bus."""
        return self.bus


def play(kind, name, rows):
    """Build the source and show it the rows."""
    own = {"kind": kind}
    for row in rows:
        if row.startswith("settings: "):
            own.update(json.loads(row[10:]))
    ready, problems = settings.check({"sources": [own]}, PINS["unix"])
    assert not problems, problems
    ports = Ports()
    if kind == "motion":
        ports.bus = Bus(PARTS[ready["sources"][0]["part"]])
    sinks = (Printer(name, "turn" if kind == "motion" else "reading"), Printer(name, "knock"))
    source, _ = module_of(kind).build(
        ports, ready["sources"][0]["pins"], ready["sources"][0], sinks
    )
    if kind != "motion":
        source.poll(0)
    end_us = 0
    for row in rows:
        end_us = show(source, ports, row) or end_us
    source.poll(end_us + 20_000)


def show(source, ports, row):
    """Show one row and return the time of its last part."""
    word, _, rest = row.partition(": ")
    if word == "edges":
        for pair in rest.split():
            t_us, levels = [int(part) for part in pair.split(":")]
            source.edge(levels >> 1, levels & 1, t_us)
        return t_us
    if word == "bytes":
        t_us, byte_us, data = rest.split()
        for index, value in enumerate(unhexlify(data)):
            source.byte(value, int(t_us) + index * int(byte_us))
        return int(t_us)
    if word == "damaged":
        source.byte(0x33, int(rest), True)
    elif word == "words":
        for pair in rest.split():
            t_us, raw = pair.split(":")
            source.word(int(raw, 16), int(t_us))
    elif word == "who":
        ports.bus.who = int(rest)
    elif word == "overrun":
        ports.bus.runs_over = 1
    elif word == "queue":
        at, _, data = rest.rpartition(" ")
        at_us = int(at or 40_000)
        source.poll(0)
        ports.bus.queue = unhexlify(data)
        ports.bus.overrun = ports.bus.runs_over
        source.poll(at_us)
        source.poll(at_us + 960_001)
        return at_us + 960_001
    return 0


def main(kind, folder):
    """Print what every vector gives."""
    for name in sorted(os.listdir(folder)):
        with open(folder + "/" + name) as file:
            play(kind, name, file.read().split("\n"))


main(sys.argv[1], sys.argv[2])
