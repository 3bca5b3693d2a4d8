"""What the numbers on the wire stand for, in words."""

STATES = {0: "ready", 1: "recording"}

RESULTS = {
    0: "done",
    1: "busy: another capture is running",
    2: "not recording",
    3: "unknown capture",
    4: "no room",
    5: "not understood",
    6: "not allowed",
}

ORIGINS = {0: "host", 1: "button"}

KINDS = {0: "clocked24", 1: "bcd52", 2: "ascii_line", 3: "bridge24", 4: "motion"}

REASONS = {0: "host", 1: "button", 2: "no room", 3: "battery"}

EVENTS = {
    0: "button",
    1: "unit_changed",
    2: "gauge_silent",
    3: "gauge_heard",
    4: "over_range",
    5: "battery_low",
    6: "frame_cut",
    7: "word_unknown",
    8: "line_noise",
    9: "edges_lost",
    10: "flash_full",
    11: "settings_refused",
    12: "hold_told",
}
