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
from .sources import module_of
from .spool import Spool

SETTINGS = "settings.json"
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
    from .settings import REFUSED, load

    path = (folder or "") + SETTINGS
    settings, state, problem = load(ports.roles, path if folder is not None else "")
    spool = Spool(folder + "spool") if folder is not None else None
    identity = Identity(name or settings["name"], stored_secret(secret) if secret else None)
    sender = Sender(ring)
    try:
        session, followed, sources, feeds = _wire_up(ports, settings, identity, sender, spool)
    except _REFUSALS as error:
        # In order by the rules, but not for this chip: a pin that it has not, or cannot use so.
        # A board that does not start could not even be told better ones.
        ports.release()
        gc.collect()
        settings, _, _ = load(ports.roles, "")
        state, problem = REFUSED, "the chip does not take these sources: %s" % error
        session, followed, sources, feeds = _wire_up(ports, settings, identity, sender, spool)
    guide = Guide(settings)
    for at in followed:
        session.channels[at].follow = guide.reading
    session.desk = Desk(session, ports, spool, guide, path, state, problem)
    radio = _radio(ports, folder, identity, session)
    if radio is not None:
        feeds.append(radio)
        ports.links += radio.seats
    player = Player(ports.lamp_green, ports.lamp_red, ports.beep if settings["beeper"] else None)
    forget("rockboard.settings", "rockboard.sources.table")  # not needed while recording
    return App(session, feeds, sources, ports, guide, player, session.desk, spool)


def _wire_up(ports, settings, identity, sender, spool):
    """Return session, indexes of the channels that the guide follows, sources and feeds."""
    if settings["battery"]:
        ports.measure_battery()
    from .sources.table import KINDS, TABLE

    names, sources, feeds = [], [], []
    travel = turning = None  # the channels that the guide follows: the first of each
    for row in settings["sources"]:
        number = KINDS.index(row["kind"])
        if TABLE[number].shows_travel and travel is None:
            travel = len(names)
        if row["kind"] == "motion" and turning is None:
            turning = len(names)  # the first of its two
        names += [(number, row["name"] + ending) for ending in TABLE[number].channels]
    session = Session(identity, ports.clock, sender, tuple(names), spool)
    at = 0
    for row in settings["sources"]:
        width = len(TABLE[KINDS.index(row["kind"])].channels)
        sinks = session.channels[at : at + width]
        at += width
        source, its_feeds = module_of(row["kind"]).build(ports, row["pins"], row, sinks)
        sources.append(source)
        feeds += its_feeds
    followed = [at for at in (travel, turning) if at is not None]
    return session, followed, sources, feeds


def _radio(ports, folder, identity, session):
    """Return the radio of a board that has one and was set up for it; its code takes room."""
    if ports.radio is None or folder is None:
        return None
    try:
        from .ble_link import start

        return start(ports, folder, identity, session)
    except (OSError, RuntimeError, MemoryError) as error:
        # The board records all the same, over its cable or alone.
        session.desk.trouble = "the radio does not start: %s" % error
        forget("rockboard.ble_link", "rockboard.ble_seat", "rockboard.counter")
        return None
