"""Pico W, and Pico without radio."""

import gc

import micropython

# First of all, while the heap is one piece; and collect often, so that what loading the modules
# leaves behind does not scatter them over the whole heap.
RECORD_RING = bytearray(16 * 1024)
gc.threshold(8_192)
micropython.opt_level(3)

# ruff: noqa: E402
from rockboard.boards import rp2 as family
from rockboard.boards.pins import pins_of


def main() -> None:
    """Run the board."""
    family.run(family.RP2040, pins_of("pico_w"), RECORD_RING)
