"""The board of the world: its program's real parts, and what of it outlives a reset."""

from types import SimpleNamespace

from rockboard.ble_seat import Door
from rockboard.desk import Desk
from rockboard.identity import Identity
from rockboard.session import Session
from rockboard.spool import Spool
from rockboard.talk import Talk
from rockwire.guard import Guard
from rockwire.guide import Guide
from rockwire.sender import Sender

SECRET = bytes(range(32))
KEY = bytes(range(1, 33))
TERMINAL_BYTES = 4_096  # what a system keeps for a program that does not read
_GUIDE = {"band_counts": 2, "settle_ms": 300, "hold_ms": 1000, "gap_ms": 500, "cycles": 3}


class BoardSide:
    """A board with one gauge.

    Args:
        world: Where it is.
        flash: The folder that stands for its flash; None for a board without.
    """

    def __init__(self, world, flash):
        self._world = world
        self.has_flash = flash is not None
        self._flash = flash
        if flash is not None:
            flash.mkdir()
        self._identity = Identity("world", SECRET)
        self._counter = 0  # kept on flash, too
        self._spool = None
        self.start()

    def start(self):
        """Start the program: at first, and after a reset."""
        world = self._world
        if self._spool is not None:
            self._spool.end()
        if self._flash is not None:
            self._spool = Spool(str(self._flash))
        ring = Sender(bytearray(world.faults.ring))
        self.session = Session(self._identity, world, ring, ((0, "gauge"),), self._spool)
        ports = SimpleNamespace(clock=world, cause=2, battery_mv=lambda: 0)
        self.session.desk = Desk(self.session, ports, self._spool, Guide(_GUIDE), "", 0, "")
        guard = Guard(KEY, self._identity.board_id, self._counter, self._keep)
        self.talk = Talk(BoardEnd(world, guard), self.session)

    def _keep(self, counter):
        self._counter = counter

    def end(self):
        """Remove what stood on the flash."""
        if self._spool is None:
            return
        self._spool.end()
        for path in self._flash.iterdir():
            path.unlink()
        self._flash.rmdir()


class BoardEnd:
    """The board's end of whatever link there is; a seat of its radio in some worlds."""

    def __init__(self, world, guard):
        self._world = world
        self.visit = 0
        self.guard = Door(guard, self) if world.guarded else None

    @property
    def arrivals(self):
        """Return how many links there have been."""
        return self._world.arrivals

    @property
    def connection(self):
        """Return the link, None when there is none."""
        return self._world.link

    def read(self):
        """Return what has come."""
        self.visit = self.arrivals
        data, self._world.to_board = self._world.to_board, b""
        return data

    def write(self, data):
        """Send all of it; into a port that nobody reads it is gone, a full one takes nothing."""
        world = self._world
        if world.asleep and len(world.to_host) > TERMINAL_BYTES:
            return 0
        if world.link and not world.link.broken:
            world.to_host += world.spoil(data)
        return len(data)
