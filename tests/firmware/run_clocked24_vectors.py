"""Feed the recorded edges of every vector to the board's source and print what it says.

    python run_clocked24_vectors.py VECTOR_FOLDER

Runs on CPython and on MicroPython; the edges go through the ring, as they do from an interrupt.
"""

import os
import sys

from rockboard.clock import WideClock
from rockboard.edge_ring import EdgeRing
from rockboard.sources.clocked24 import Clocked24
from rockwire import units
from rockwire.words import EVENTS


class Printer:
    """A sink that prints."""

    def __init__(self, name):
        self.name = name

    def reading(self, t_us, count, scale):
        """Print a reading."""
        unit = "in" if scale == units.HALF_THOU else "mm"
        assert scale in (units.HALF_THOU, units.HUNDREDTH_MM)
        print(self.name, "reading", t_us, count, unit)

    def event(self, code, t_us, value):
        """Print an event."""
        print(self.name, "event", EVENTS[code], value)


def main(folder):
    """Print every vector's readings and events."""
    for name in sorted(os.listdir(folder)):
        with open(folder + "/" + name) as file:
            rows = file.read().split("\n")
        now = [0]
        clock = WideClock(lambda now=now: now[0])
        ring = EdgeRing()
        source = Clocked24(Printer(name))
        for row in rows:
            if not row.startswith("edges: "):
                continue
            for pair in row[7:].split():
                t_us, levels = pair.split(":")
                now[0] = int(t_us)
                ring.push(now[0], int(levels))
            ring.drain(clock, source)
        now[0] += 10_000
        source.poll(clock.now_us())


main(sys.argv[1])
