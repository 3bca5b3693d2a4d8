"""The messages about the board itself: settings, health, captures on its flash.

They are seldom needed and take room, so a board loads them only when the first such command comes;
wire.py does that by itself.
"""

from collections import namedtuple

# What follows a row of numbers, see wire.py.
_NOTHING, _NAME, _DATA = False, True, 2

# --- commands -------------------------------------------------------------------------------
Captures = namedtuple("Captures", "request index")
GetSettings = namedtuple("GetSettings", "request offset")
PutSettings = namedtuple("PutSettings", "request total offset data")
Probe = namedtuple("Probe", "request source")
Health = namedtuple("Health", "request")
Holds = namedtuple("Holds", "request index")
Leave = namedtuple("Leave", "request")

# --- answers --------------------------------------------------------------------------------
CaptureReply = namedtuple("CaptureReply", "request captures index nonce first next_number flags")
SettingsPart = namedtuple("SettingsPart", "request total offset data")
Told = namedtuple("Told", "request result data")
ProbeReply = namedtuple(
    "ProbeReply",
    "request source kind readings age_ms period_us troubles count unit mantissa exponent name",
)
HealthReply = namedtuple(
    "HealthReply",
    "request settings heap_used heap_free flash_size flash_free unfetched fetched cause "
    "battery_mv data",
)
HoldsReply = namedtuple(
    "HoldsReply",
    "request unit mantissa exponent minimum maximum holds index start_us end_us low high",
)

# type number → (message, layout, what follows)
LAYOUTS = {
    0x10: (Captures, "<HH", _NOTHING),
    0x11: (GetSettings, "<HH", _NOTHING),
    0x12: (PutSettings, "<HHH", _DATA),
    0x13: (Probe, "<HB", _NOTHING),
    0x14: (Health, "<H", _NOTHING),
    0x15: (Holds, "<HB", _NOTHING),
    0x16: (Leave, "<H", _NOTHING),
    0x50: (CaptureReply, "<HHH16sIIB", _NOTHING),
    0x51: (SettingsPart, "<HHH", _DATA),
    0x52: (Told, "<HB", _DATA),
    0x53: (ProbeReply, "<HBBIIIIiBBb", _NAME),
    0x54: (HealthReply, "<HBIIIIHHBH", _DATA),
    0x55: (HoldsReply, "<HBBbiiBBQQii", _NOTHING),
}

# Flags of a capture on the board's flash.
FETCHED = 1
CLOSED = 2
SEALED = 4

NEVER = 0xFFFFFFFF  # the age of a source that was not heard since power-up

SETTINGS_UNUSABLE = 2
SETTINGS_STATES = {
    0: "stored",
    1: "defaults",
    SETTINGS_UNUSABLE: "defaults, the stored ones cannot be used",
}
