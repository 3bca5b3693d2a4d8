"""The whole way from gauge to disk in one process, with everything going wrong by a seed.

The board's session, the host's recorder and the capture's writer are the real ones. The world owns
what is between and around them: the line, both clocks, the disk, and the hand that pulls cables.
Time passes only when the host waits, so that a seed replays exactly.
"""

import random
from dataclasses import dataclass, field
from pathlib import Path

from board_side import KEY, BoardSide

from rockhold.capture.writer import CaptureWriter
from rockhold.errors import CaptureWriteError, LinkLostError, NoBoardError
from rockhold.record.header import Job
from rockhold.record.radiokeys import FURTHEST, RadioGuard
from rockwire.guard import Wrapper
from rockwire.units import HALF_THOU

TICK_US = 5_000
SPACING_US = 20_000
JOB = Job("S. Seed", "end play", "procedure text")
LONGEST_US = 400_000_000  # of the world's time


class HangsError(Exception):
    """The run needs far more time than any good run would."""


class HostKilledError(Exception):
    """The host's process ends here, at once."""


@dataclass
class Faults:
    """How bad it gets: chances per tick or per piece of data, and sizes."""

    corrupt: float = 0.0
    drop: float = 0.0
    double: float = 0.0
    swap: float = 0.0
    stall: float = 0.0
    unplug: float = 0.0
    half_open: float = 0.0
    kill: float = 0.0
    disk_full: float = 0.0
    jump: float = 0.0
    sleep: float = 0.0
    reset: float = 0.0
    restart: float = 0.0
    ring: int = 24 * 1024
    trouble_s: float = 6.0
    seen: dict[str, int] = field(default_factory=dict)

    @classmethod
    def draw(cls, rng):
        """Choose which faults this run has, most of them rare, some of them fierce."""

        def maybe(largest):
            return rng.choice((0.0, 0.0, largest / 20, largest / 4, largest))

        return cls(
            corrupt=maybe(0.2),
            drop=maybe(0.2),
            double=maybe(0.1),
            swap=maybe(0.05),
            stall=maybe(0.05),
            unplug=maybe(0.02),
            half_open=maybe(0.01),
            kill=maybe(0.1),
            disk_full=maybe(0.05),
            jump=maybe(0.02),
            sleep=maybe(0.005),
            reset=rng.choice((0.0, 0.0, 0.0, 0.3)),
            restart=rng.choice((0.0, 0.0, 0.0, 0.001)),
            ring=rng.choice((2048, 4096, 24 * 1024, 24 * 1024)),
            trouble_s=rng.uniform(1.0, 8.0),
        )

    def count(self, name):
        """Remember that a fault happened."""
        self.seen[name] = self.seen.get(name, 0) + 1


class World:
    """A board with a gauge in front of it, and the host's surroundings; also the host's clocks."""

    def __init__(self, seed, folder):
        self.rng = random.Random(seed)
        self.faults = Faults.draw(self.rng)
        self.t_us = 0
        self.utc_offset_us = 1_790_000_000_000_000
        self.steady_offset_us = 77
        self.asleep = False  # the computer's lid is shut
        self.slept_us = 0
        # Every third world's link is radio: commands are guarded, strangers could be there.
        self.guarded = seed % 3 == 2
        self.arrivals = 0
        self.link = None
        # Every second world's board has a flash.
        self.board = BoardSide(self, Path(folder) / f"{seed}.flash" if seed % 2 else None)
        self.resets = {}  # nonce of a capture that resets cut: when that was
        self.to_board = b""
        self.to_host = b""
        self.stalled_until_us = 0
        self.taken = {}  # nonce of the capture: readings that the board took, (time, count)
        self._next_reading_us = SPACING_US
        self._pressed = None  # nonce of the capture that the button has ended

    # --- the board's clock, the host's clocks ---------------------------------------------------

    def now_us(self):
        """Board time."""
        return self.t_us

    def steady_us(self):
        """Host time that never jumps."""
        return self.t_us + self.steady_offset_us

    def utc_us(self):
        """Host's idea of UTC; jumps."""
        return self.t_us + self.utc_offset_us

    def pause(self, seconds):
        """Let time pass."""
        self.pass_us(int(seconds * 1e6))

    @property
    def session(self):
        """The board's session; another one after a reset."""
        return self.board.session

    @property
    def troubled(self):
        """Whether things still go wrong."""
        return self.t_us < self.faults.trouble_s * 1e6

    def chance(self, name):
        """Decide whether a fault happens now."""
        if self.troubled and self.rng.random() < getattr(self.faults, name):
            self.faults.count(name)
            return True
        return False

    # --- time passes ----------------------------------------------------------------------------

    def pass_us(self, span_us, until=lambda: False):
        """Let time pass until a condition holds, at most `span_us`."""
        end_us = self.t_us + max(TICK_US, span_us)
        if self.t_us - self.slept_us > LONGEST_US:
            raise HangsError
        while self.t_us < end_us and not until():
            self.t_us += TICK_US
            self._gauge()
            self._board()
            if self.chance("jump"):
                self.utc_offset_us += self.rng.randrange(-(10**10), 10**10)
            if self.chance("unplug") and self.link:
                self.link.broken = True
            if self.chance("half_open") and self.link:
                setattr(self.link, self.rng.choice(("deaf", "mute")), True)
            if self.chance("restart"):
                self.reset()
            if self.chance("stall"):
                self.stalled_until_us = self.t_us + self.rng.randrange(2_000_000)

    def _gauge(self):
        while self._next_reading_us <= self.t_us:
            if self.session.state and self._pressed != self.session.nonce:
                count = self.rng.randrange(-50, 50)
                taken = self.taken.setdefault(self.session.nonce, [])
                taken.append((self._next_reading_us, count))
                self.session.channels[0].reading(self._next_reading_us, count, HALF_THOU)
            self._next_reading_us += SPACING_US + self.rng.randrange(-500, 500)
        if not self.troubled and self.session.state:
            self._pressed = self.session.nonce
            self.session.close(1)

    def _board(self):
        self.board.talk.listen()
        self.session.poll(TICK_US // 1000)
        for _ in range(3):  # as many lines as the line carries in a tick
            self.board.talk.speak(True)

    def sleep(self):
        """Shut the lid: the host stands still, the board does not; its clock may stand still, too.

        UTC has gone on when it wakes; the link may have gone.
        """
        span_us = self.rng.randrange(1_000_000, 30_000_000)
        self.slept_us += span_us
        self.asleep = True
        self.pass_us(span_us)
        self.asleep = False
        if self.rng.random() < 0.5:
            self.steady_offset_us -= span_us
        if self.rng.random() < 0.5 and self.link:
            self.link.broken = True

    def reset(self):
        """Restart the board: as some do when a port is opened, or with the link up throughout."""
        if self.session.state:
            self.resets.setdefault(self.session.nonce, []).append(self.t_us)
        self.board.start()

    def spoil(self, data):
        """Return what arrives of some data."""
        rng = self.rng
        if self.chance("drop"):
            return data[: rng.randrange(len(data))] if rng.random() < 0.5 else b""
        if self.chance("corrupt"):
            at = rng.randrange(len(data))
            return data[:at] + bytes((rng.randrange(256),)) + data[at + 1 :]
        if self.chance("double"):
            return data + data
        if self.chance("swap") and self.to_host:
            held, self.to_host = self.to_host, b""
            return data + held
        return data

    def open(self):
        """Open a link, as a host's way to the board; fails now and then while there is trouble."""
        if self.troubled and self.rng.random() < 0.3:
            self.pass_us(50_000)
            raise NoBoardError("not there yet")
        self.to_host = self.to_board = b""
        self.link = WorldLink(self)
        self.arrivals += 1
        if self.chance("reset"):
            self.reset()
        return self.link


class WorldGuard(RadioGuard):
    """The host's guard, with its key at hand; what it counted is forgotten when the host dies."""

    def __init__(self, world):
        super().__init__(Path("nowhere"), world.utc_us)
        self._kept = FURTHEST

    def meet(self, board_id):
        """Take the key."""
        self._wrapper = Wrapper(KEY, board_id, self._next)


class WorldLink:
    """One link's life."""

    name = "world"

    def __init__(self, world):
        self.world = world
        self.guard = WorldGuard(world) if world.guarded else None
        self.broken = False
        self.deaf = False  # what the board sends no longer arrives; the port seems fine
        self.mute = False  # what the host sends no longer arrives

    def read(self, wait_s):
        """Return what has come; time passes."""
        world = self.world
        if world.chance("sleep"):
            world.sleep()
        world.pass_us(
            int(wait_s * 1e6),
            lambda: (bool(world.to_host) and world.t_us >= world.stalled_until_us) or self.broken,
        )
        if self.broken:
            raise LinkLostError("unplugged")
        if world.t_us < world.stalled_until_us:
            return b""
        data, world.to_host = world.to_host, b""
        return b"" if self.deaf else data

    def write(self, data):
        """Send; spoilt on the way like everything else."""
        if self.broken:
            raise LinkLostError("unplugged")
        if data and not self.mute:
            self.world.to_board += self.world.spoil(data)

    def close(self):
        """Let go."""
        if self.world.link is self:
            self.world.link = None


class WorldWriter(CaptureWriter):
    """The real writer on a disk that fills up, in a process that gets killed."""

    world = None

    def append(self, value):
        """Write a line, or the first part of it."""
        world = WorldWriter.world
        if world.chance("kill"):
            if world.rng.random() < 0.5:
                super().append(value)
            else:
                self._file.write(b'{"record":"torn')
            raise HostKilledError
        if world.chance("disk_full"):
            raise CaptureWriteError("no room left")
        super().append(value)
