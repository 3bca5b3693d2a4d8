"""Put a board's program together from its settings, its ports and its flash."""

import gc

from rockwire.guide import Guide
from rockwire.sender import Sender

from .app import App
from .desk import Desk
from .identity import Identity, stored_secret
from .lean import forget
from .session import Session
from .signals import Player
from .sources import KINDS, module_of
from .spool import Spool

SETTINGS = "settings.json"
_SETTINGS_REFUSED = 2  # as settings.py has it, which is not kept loaded
_REFUSALS = (ValueError, TypeError, IndexError, OSError, RuntimeError, MemoryError)


def build(ports, ring: bytearray, folder, secret: str, name: str = "") -> App:
    """Return the program of a board.

    Args:
        ports: What the board can do; see boards/unix.py for all of it.
        ring: Where records wait in RAM.
        folder: Where settings and captures lie, "" or with a "/" at its end; None for a board
            without flash: it has no spool, and its default settings.
        secret: The file with the key, made at the first start; "" for a board that does not sign.
        name: Takes the place of the name in the settings.
    """
    path = (folder or "") + SETTINGS
    settings, state, problem = _load(ports.roles, path if folder is not None else "")
    spool = Spool(folder + "spool") if folder is not None else None
    identity = Identity(name or settings["name"], stored_secret(secret) if secret else None)
    sender = Sender(ring)
    try:
        session, names, sources, feeds = _wire_up(ports, settings, identity, sender, spool)
    except _REFUSALS as error:
        # In order by the rules, but not for this chip: a pin that it has not, or cannot use so.
        # A board that does not start could not even be told better ones.
        ports.release()
        gc.collect()
        settings, _, _ = _load(ports.roles, "")
        state, problem = _SETTINGS_REFUSED, "the chip does not take these sources: %s" % error
        session, names, sources, feeds = _wire_up(ports, settings, identity, sender, spool)
    guide = Guide(settings)
    _follow_indicator(session, names, guide)
    session.desk = Desk(session, ports, spool, guide, path, state, problem)
    radio = _radio(ports, folder, identity, session)
    if radio is not None:
        feeds.append(radio)
        ports.links += radio.seats
    player = Player(ports.lamp_green, ports.lamp_red, ports.beep if settings["beeper"] else None)
    return App(session, feeds, sources, ports, guide, player, session.desk, spool)


def _wire_up(ports, settings, identity, sender, spool):
    """Return session, (kind, name) of its channels, sources and feeds."""
    if settings["battery"]:
        ports.measure_battery()
    rows = [(kind, module_of(row["kind"]), row) for kind, row in _numbered(settings["sources"])]
    names = []
    for kind, module, row in rows:
        names += [(kind, row["name"] + ending) for ending in module.CHANNELS]
    session = Session(identity, ports.clock, sender, tuple(names), spool)
    sources, feeds, at = [], [], 0
    for _, module, row in rows:
        sinks = session.channels[at : at + len(module.CHANNELS)]
        at += len(module.CHANNELS)
        source, its_feeds = module.build(ports, row["pins"], row, sinks)
        sources.append(source)
        feeds += its_feeds
    return session, names, sources, feeds


def _load(roles, path: str):
    """Return what settings.load does, and let go of its code: it is not needed while recording."""
    from . import settings

    loaded = settings.load(roles, path)
    forget("rockboard.settings")
    return loaded


def _radio(ports, folder, identity, session):
    """Return the radio of a board that has one and was set up for it; its code takes room."""
    if ports.radio is None or folder is None:
        return None
    from .ble_link import start

    return start(ports, folder, identity, session)


def _follow_indicator(session, names, guide) -> None:
    """Let the guide see the first source that can be an indicator."""
    for index, (kind, _) in enumerate(names):
        if KINDS[kind] in ("clocked24", "bcd52", "ascii_line"):
            session.channels[index].follow = guide.reading
            return


def _numbered(rows):
    return [(KINDS.index(row["kind"]), row) for row in rows]
