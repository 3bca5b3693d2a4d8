"""The table of sources: which there are, what can be set about each, and what each gives.

A row's place is the kind's number on the wire. Only settings and build read this, so a board lets
go of it before it records.
"""

from collections import namedtuple

# fields: the settings of the kind: name, default, check, limits (settings.py knows the checks).
# pins: (pin in the settings, role in boards/pins.py). channels: one ending for each row of readings
# that it gives; "" where there is one. shows_travel: whether it may be the indicator.
Kind = namedtuple("Kind", "name fields pins channels shows_travel")

TABLE = (
    Kind(
        "clocked24",
        (
            ("inverted", True, "flag", None),
            ("rest_us", 3_000, "whole", (500, 60_000)),
            ("shortest_pulse_us", 15, "whole", (0, 1_000)),
            ("silent_ms", 1_000, "whole", (100, 60_000)),
        ),
        (("data", "gauge_data"), ("clock", "gauge_clock")),
        ("",),
        True,
    ),
    Kind(
        "bcd52",
        (
            ("inverted", True, "flag", None),
            ("on_rise", False, "flag", None),
            ("every_ms", 100, "whole", (20, 5_000)),
            ("rest_us", 1_000, "whole", (300, 20_000)),
            ("shortest_pulse_us", 5, "whole", (0, 1_000)),
            ("silent_ms", 1_000, "whole", (100, 60_000)),
        ),
        (("data", "gauge_data"), ("clock", "gauge_clock"), ("request", "gauge_request")),
        ("",),
        True,
    ),
    Kind(
        "ascii_line",
        (
            ("baud", 9_600, "whole", (300, 115_200)),
            ("bits", 8, "choice", (7, 8)),
            ("parity", "none", "choice", ("none", "even", "odd")),
            ("stop", 1, "choice", (1, 2)),
            ("pattern", "{value}{unit}", "pattern", (7, 48)),
            ("unit", "none", "choice", ("none", "mm", "in", "Nm", "lbft", "lbin")),
            ("over_range", "", "text", (0, 12)),
            ("silent_ms", 2_000, "whole", (100, 600_000)),
        ),
        (("rx", "torque_rx"), ("tx", "torque_tx")),
        ("",),
        True,
    ),
    Kind(
        "bridge24",
        (
            ("gain", 128, "choice", (128, 64, 32)),
            ("unit", "none", "choice", ("none", "Nm", "lbft", "lbin")),
            ("places", 2, "whole", (0, 6)),
            ("zero", 0, "whole", (-(1 << 23), (1 << 23) - 1)),
            ("span", None, "span", None),
            ("silent_ms", 1_000, "whole", (100, 60_000)),
        ),
        (("data", "bridge_data"), ("clock", "bridge_clock")),
        ("",),
        False,
    ),
    Kind(
        "motion",
        (
            ("part", "mpu6050", "choice", ("lsm6ds3", "mpu6050")),
            ("address", 0x68, "whole", (0x08, 0x77)),
            ("axis", "z", "choice", ("x", "y", "z")),
            ("silent_ms", 1_000, "whole", (200, 60_000)),
        ),
        (("sda", "motion_sda"), ("scl", "motion_scl")),
        (" turning", " knock"),
        False,
    ),
)
KINDS = tuple([row.name for row in TABLE])
