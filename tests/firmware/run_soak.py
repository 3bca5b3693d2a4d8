"""Load the board's program, see what that takes of the heap, and run soak_hour.py on it.

    micropython -X heapsize=160k run_soak.py SECONDS [alone] [gauge]

All sources, session, spool and links are loaded: compiled here, or, where the path leads to them,
as the compiled files that a board gets. With 32 bits, like boards, all that stays loaded is. With
64 every reference is twice as large; what takes no part in the simulation is then left out.
"""

# ruff: noqa: E402 (memory is set aside before the imports, as boards do)
import gc
import sys

import micropython

micropython.opt_level(3)
RECORD_RING = bytearray(8 * 1024)  # first of all, while the heap is one piece, as on a board
gc.threshold(4_096)

LOADED = (
    "sources.clocked24 sources.bcd52 sources.ascii_line sources.bridge24 sources.motion "
    "session spool spool_reader patient_flash stamp_ring talk usb_link ble_link counter"
)
if sys.maxsize < 1 << 32:
    LOADED += " app desk identity signals"
for name in LOADED.split():
    __import__("rockboard." + name)
for name in ("guard", "sender"):
    __import__("rockwire." + name)
gc.collect()
code = gc.mem_alloc()
print("heap of the code", code - len(RECORD_RING), "bits", len("%x" % sys.maxsize) * 4)

import soak_hour

soak_hour.run(RECORD_RING, code, int(sys.argv[1]), "alone" in sys.argv)
