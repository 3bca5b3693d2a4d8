"""One file for each kind of instrument that the board can listen to, and the table of them.

A source's file has

    FIELDS    its settings: name, default, check, limits (settings.py knows the checks)
    PINS      (pin in the settings, role in boards/pins.py) pairs
    CHANNELS  one ending for each row of readings that it gives; "" where there is one
    build(ports, pins, settings, sinks)   makes the source and the feeds that the program drains

To add one, write its file and add its name here; its place is its number on the wire.
"""

KINDS = ("clocked24", "bcd52", "ascii_line", "bridge24", "motion")


def module_of(kind: str):
    """Import and return a source's file; only what is used takes room on the board."""
    name = "rockboard.sources." + kind
    return getattr(__import__(name).sources, kind)
