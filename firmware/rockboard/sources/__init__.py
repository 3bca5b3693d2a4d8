"""One file for each kind of instrument that the board can listen to, and the table of them.

A source's file has `build(ports, pins, settings, sinks)`, which makes the source and the feeds that
the program drains. To add one, write its file and a row in table.py.
"""


def module_of(kind: str):
    """Import and return a source's file; only what is used takes room on the board."""
    name = "rockboard.sources." + kind
    return getattr(__import__(name).sources, kind)
