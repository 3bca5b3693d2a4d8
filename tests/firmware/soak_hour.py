"""A board with five sources and 500 readings a second, in simulated time, on MicroPython.

The real sources, session, spool and littlefs run; DMA, flash and host are simulated
(soak_world.py). Every erase of the flash stops the program for 400 ms of simulated time, the
longest that the chip's data sheet allows, while edges, bytes and words go on coming into the rings.
The host takes and acknowledges what comes, and is away for ten seconds in every two minutes. With
`alone` no host comes at all, and it runs until the flash is full; with `gauge` only the clocked
gauge speaks.
"""

import gc
import os

import vfs
from soak_world import (
    GAUGE_US,
    LINE_A_US,
    LINE_B_US,
    PAGE,
    STALL_US,
    WORD_US,
    Dma,
    Flash,
    Judge,
    World,
)

from rockboard.clock import WideClock
from rockboard.patient_flash import PatientFlash
from rockboard.session import Session
from rockboard.sources.ascii_line import AsciiLine
from rockboard.sources.bridge24 import Bridge24
from rockboard.sources.clocked24 import Clocked24
from rockboard.sources.motion import PARTS, Motion
from rockboard.spool import Spool
from rockboard.stamp_ring import ByteFeed, EdgeFeed, WordFeed
from rockwire import messages as m
from rockwire.sender import Sender
from rockwire.units import NEWTON_METRE

STEP_US = 10_000
PICO_W_BLOCKS = 212  # 848 KB, what MicroPython leaves for files on a Pico W


class Identity:
    """A board without a key."""

    name, board_id, public_key = "soak", b"boardid8", None

    def sign(self, nonce, chain):
        """Sign nothing."""


class Heap:
    """What the board takes of the heap.

    The peak is what stands there, garbage included, at the end of any step; live is what is left
    after a collection, looked at every ten seconds. The simulation's code and its flash, world and
    judges are measured as they come and left out of both; its garbage is in the peak.

    Args:
        code: Bytes in use before the simulation's code was loaded.
    """

    def __init__(self, code):
        self.simulation = in_use() - code
        self.peak = self.first = self.last = self.most = 0
        self.at_minute = {}

    def without(self, make, *arguments):
        """Return what `make` makes: a part of the simulation."""
        before = in_use()
        made = make(*arguments)
        self.simulation += in_use() - before
        return made

    def look(self, second):
        """Look, at the end of a step; `second` where it is the first of that second, else None."""
        self.peak = max(self.peak, gc.mem_alloc() - self.simulation)
        if second is None or second % 10 != 5:
            return
        self.last = in_use() - self.simulation
        self.first = self.first or self.last
        self.most = max(self.most, self.last)
        if second // 60 in (1, 29, 59):
            self.at_minute[second // 60 + 1] = self.last

    def say(self):
        """Print it."""
        print("heap peak with garbage", self.peak, "of the simulation besides", self.simulation)
        print("heap live first", self.first, "last", self.last, "most", self.most, end=" ")
        print("by minute", sorted(self.at_minute.items()))


def in_use():
    """Return how many bytes of the heap are in use after a collection."""
    gc.collect()
    return gc.mem_alloc()


def sources_on(world, session):
    """Return the board's sources and the feeds that fill them."""
    c = session.channels
    gauge, line_a = Clocked24(c[0]), AsciiLine(c[1], unit=NEWTON_METRE)
    line_b, bridge = AsciiLine(c[2], unit=NEWTON_METRE), Bridge24(c[3])
    motion = Motion(c[4:6], world, PARTS["mpu6050"], 0x68, 2)
    clock = world.clock
    feeds = (
        EdgeFeed(world.edges.ring, clock, gauge, False),
        ByteFeed(world.line_a.ring, clock, line_a),
        ByteFeed(world.line_b.ring, clock, line_b),
        WordFeed(world.words.ring, clock, bridge, 0),
    )
    return (gauge, line_a, line_b, bridge, motion), feeds


def judges_of(session):
    """Return who compares what the channels get with what was sent."""
    every_us = (GAUGE_US, LINE_A_US, LINE_B_US, WORD_US)
    return [Judge(kind, every_us[kind], session.channels[kind]) for kind in range(4)]


class Board:
    """The board's parts, put together, in their world.

    Args:
        ring: Where records wait.
        heap: Told what of it all is simulation.
    """

    def __init__(self, ring, heap):
        rings = (Dma(512, "B"), Dma(512, "H"), Dma(512, "H"), Dma(64, "I"))
        self.world = heap.without(World, rings)
        clock = self.world.clock = WideClock(self.world.ticks)
        self.flash = heap.without(Flash, "/tmp/soak-%d.img" % os.urandom(2)[0], PICO_W_BLOCKS)
        patient = PatientFlash(self.flash)
        vfs.VfsLfs2.mkfs(patient, progsize=PAGE)
        vfs.mount(vfs.VfsLfs2(patient, progsize=PAGE), "/flash")
        self.flash.erases = 0
        self.flash.stall = lambda: self.world.advance(STALL_US)
        self.spool = Spool("/flash/spool")
        names = ((0, "gauge"), (2, "a"), (2, "b"), (3, "bridge"), (4, "turn"), (4, "knock"))
        self.sender = Sender(ring)
        self.session = Session(Identity(), clock, self.sender, names, self.spool)
        self._sources, self._feeds = sources_on(self.world, self.session)
        self._last_us = 0
        patient.breathe = self.breathe

    def breathe(self):
        """Take in what the rings hold."""
        now_us = self.world.clock.now_us()
        for feed in self._feeds:
            feed.drain()
        for source in self._sources:
            source.poll(now_us)

    def step(self):
        """Do a round, as the program does."""
        self.world.advance(STEP_US)
        self.breathe()
        now_us = self.world.clock.now_us()
        self.session.poll((now_us - self._last_us) // 1_000)
        self._last_us = now_us
        return now_us


def take_all(session, wanted):
    """Take what waits and acknowledge it, as a host; return the next number that is wanted."""
    packet = session.next_record()
    while packet is not None:
        wanted = int.from_bytes(packet[2:6], "little") + 1
        packet = session.next_record()
    session.answer(m.Ack(b"ssss", wanted))
    return wanted


def run(ring, code, seconds, alone):
    """Run for so many simulated seconds, or until the flash is full, and print what came of it."""
    heap = Heap(code)
    board = Board(ring, heap)
    judges = heap.without(judges_of, board.session)
    board.session.open(b"s" * 16, 0, 1 if alone else 0)
    wanted = second = 0
    world = board.world
    while world.now_us < seconds * 1_000_000 and not (alone and board.spool.full):
        now_us = board.step()
        if not alone and (now_us // 1_000_000) % 120 >= 10:
            wanted = take_all(board.session, wanted)
        changed = now_us // 1_000_000 != second
        second = now_us // 1_000_000
        heap.look(second if changed else None)
    say(judges, world, board.session, board.flash, world.now_us // 1_000_000)
    heap.say()
    if alone:
        print("minutes until the flash was full", world.now_us // 60_000_000)
        print("on flash", board.sender.saved, "records")
    vfs.umount("/flash")
    os.remove(board.flash.path)


def say(judges, world, session, flash, seconds):
    """Print what came of it."""
    names = ("gauge", "line a", "line b", "bridge")
    for judge in judges:
        print(names[judge.kind], "sent", world.sent[judge.kind], "got", judge.got, end=" ")
        print("missing", judge.missing, "worst stamp error us", judge.worst_us)
    heard = sum([channel.heard for channel in session.channels])
    dropped = sum([channel.dropped for channel in session.channels])
    troubles = sum([channel.troubles for channel in session.channels])
    print("seconds", seconds, "readings", heard, "a second", heard // max(1, seconds))
    print("dropped", dropped, "troubles", troubles, "queue overruns", world.overruns)
    used = [worn for worn in flash.worn if worn]
    print("erases", flash.erases, "most on one block", max(used), "on blocks", len(used))
