"""The messages: what each frame says, as a value.

Commands go from the host to the board and answers come back; both carry the number of the
request. Records are the frames of a capture, in the order in which the board made them.
Each message is a namedtuple; `wire.py` turns it into a payload and back.
"""

import sys
from collections import namedtuple

PROTOCOL_VERSION = 1

NONCE_SIZE = 16
BOARD_ID_SIZE = 8
KEY_SIZE = 32
MAC_SIZE = 16
FIRST_ANSWER = 0x40  # types from here up to the records are answers
NAME_SIZE = 24  # longest name, in bytes of UTF-8

# --- commands -------------------------------------------------------------------------------
Hello = namedtuple("Hello", "request")
Start = namedtuple("Start", "request nonce host_utc_us")
Stop = namedtuple("Stop", "request")
Ack = namedtuple("Ack", "nonce_start next_number")
Resume = namedtuple("Resume", "request nonce next_number")
Clock = namedtuple("Clock", "request host_us")
Status = namedtuple("Status", "request")
Button = namedtuple("Button", "request tells")
Guarded = namedtuple("Guarded", "counter type payload mac")

# --- answers --------------------------------------------------------------------------------
Ident = namedtuple("Ident", "request version firmware board_id public_key state nonce frames name")
Done = namedtuple("Done", "request result")
ClockReply = namedtuple("ClockReply", "request host_us board_us")
StatusReply = namedtuple(
    "StatusReply",
    "request state t_us frames waiting dropped battery_mv free_bytes",
)
Stale = namedtuple("Stale", "request counter")

# --- records --------------------------------------------------------------------------------
Open = namedtuple("Open", "nonce board_id t_us host_utc_us firmware origin")
Source = namedtuple("Source", "source kind name")
Readings = namedtuple("Readings", "source scale t_us count")
Event = namedtuple("Event", "code source t_us value")
Dropped = namedtuple("Dropped", "source readings first_us last_us")
Extremes = namedtuple("Extremes", "source scale minimum minimum_us maximum maximum_us readings")
Close = namedtuple("Close", "t_us reason")
Seal = namedtuple("Seal", "public_key signature")

# --- numbers that stand for words -----------------------------------------------------------
READY = 0
RECORDING = 1

DONE = 0
BUSY = 1
NOT_RECORDING = 2
UNKNOWN_CAPTURE = 3
NO_ROOM = 4
NOT_UNDERSTOOD = 5
NOT_ALLOWED = 6

BY_HOST = 0
BY_BUTTON = 1

ALL_SOURCES = 255  # in an event: not about one source

BUTTON = 0
UNIT_CHANGED = 1
GAUGE_SILENT = 2
GAUGE_HEARD = 3
OVER_RANGE = 4
BATTERY_LOW = 5
FRAME_CUT = 6
WORD_UNKNOWN = 7
LINE_NOISE = 8
EDGES_LOST = 9
FLASH_FULL = 10
SETTINGS_REFUSED = 11
HOLD_TOLD = 12

if not hasattr(sys.implementation, "_mpy"):
    # Words for people: a host shows them, and a board has no room for what it never says.
    from .words import EVENTS as EVENTS
    from .words import KINDS as KINDS
    from .words import ORIGINS as ORIGINS
    from .words import REASONS as REASONS
    from .words import RESULTS as RESULTS
    from .words import STATES as STATES
