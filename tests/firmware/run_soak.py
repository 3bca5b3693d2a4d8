"""A board with five sources and 500 readings a second, in simulated time, on MicroPython.

    micropython -X heapsize=160k run_soak.py SECONDS [alone] [gauge]

The real sources, session, spool and littlefs run; DMA rings, flash and host are simulated. Every
erase of the flash stops the program for 400 ms of simulated time, the longest that the chip's data
sheet allows, while edges, bytes and words go on coming into the rings. The host takes and
acknowledges what comes, and is away for ten seconds in every two minutes. With `alone` no host
comes at all, and it runs until the flash is full; with `gauge` only the clocked gauge speaks.
"""

# ruff: noqa: E402 (memory is set aside before the imports, as boards do)
import gc
import os
import sys
from array import array

import micropython

micropython.opt_level(3)
RECORD_RING = bytearray(8 * 1024)
gc.threshold(4_096)

import vfs

from rockboard.clock import WideClock
from rockboard.patient_flash import PatientFlash
from rockboard.session import Session
from rockboard.sources.ascii_line import AsciiLine
from rockboard.sources.bridge24 import Bridge24
from rockboard.sources.clocked24 import Clocked24
from rockboard.sources.motion import PARTS, Motion
from rockboard.spool import Spool
from rockboard.stamp_ring import ByteFeed, EdgeFeed, StampRing, WordFeed
from rockwire import messages as m
from rockwire.sender import Sender
from rockwire.units import NEWTON_METRE

if sys.maxsize < 1 << 32:
    # The whole program is loaded, as on a board, where a word has 32 bits; with the 64 of the
    # packaged Unix port it fits, but not beside this simulation.
    for name in ("app", "build", "desk", "identity", "signals", "spool_reader", "talk", "ble_link"):
        __import__("rockboard." + name)
    __import__("rockboard.sources.bcd52")

STALL_US = 400_000
STEP_US = 10_000
GAUGE_US, LINE_A_US, LINE_B_US, WORD_US, SAMPLE_US = 71_430, 5_556, 6_025, 12_500, 10_000
FIRST_US = 2_000_000  # the instruments are switched on once the board runs
BLOCK, PAGE = 4_096, 256
ERASED = b"\xff" * PAGE
PICO_W_BLOCKS = 212  # 848 KB, what MicroPython leaves for files on a Pico W


class Flash:
    """A flash in a file, so that it takes no room in the heap; each erase takes its time."""

    def __init__(self, path, blocks):
        self.path = path
        self.blocks = blocks
        with open(path, "wb") as file:
            for _ in range(blocks):
                file.write(b"\xff" * BLOCK)
        self._file = open(path, "r+b")  # noqa: SIM115 (a chip is not closed)
        self.stall = lambda: None
        self.erases = 0
        self.worn = array("H", [0] * blocks)

    def readblocks(self, block, buffer, offset=0):
        """Read."""
        self._file.seek(block * BLOCK + offset)
        self._file.readinto(buffer)

    def writeblocks(self, block, buffer, offset=0):
        """Program erased bytes."""
        self._file.seek(block * BLOCK + offset)
        self._file.write(buffer)

    def ioctl(self, operation, argument):
        """Tell the size, and erase."""
        if operation == 4:
            return self.blocks
        if operation == 5:
            return BLOCK
        if operation == 6:
            self.stall()
            self.erases += 1
            self.worn[argument] += 1
            self._file.seek(argument * BLOCK)
            for _ in range(BLOCK // PAGE):
                self._file.write(ERASED)
        return 0


class Dma:
    """Two rings that fill by themselves."""

    def __init__(self, size, kind):
        self.values = array(kind, [0] * size)
        self.stamps = array("I", [0] * size)
        self.at = 0
        self.ring = StampRing(self.values, self.stamps, size, lambda: self.at)

    def write(self, value, t_us):
        """Write as the channels do."""
        self.values[self.at] = value
        self.stamps[self.at] = t_us & 0xFFFFFFFF
        self.at = (self.at + 1) % len(self.stamps)


class World:
    """What happens outside the board, by itself, whatever the board is doing."""

    def __init__(self):
        self.now_us = 0
        self.edges, self.line_a, self.line_b = Dma(512, "B"), Dma(512, "H"), Dma(512, "H")
        self.words = Dma(64, "I")
        self.queue = b""
        self.sent = [0, 0, 0, 0, 0]
        self._every = [GAUGE_US, LINE_A_US, LINE_B_US, WORD_US, SAMPLE_US]
        if "gauge" in sys.argv:
            self._every = self._every[:1]
        self._next = [FIRST_US + every for every in self._every]
        self.overruns = 0

    def ticks(self):
        """Return the chip's microsecond ticks."""
        return self.now_us & 0x3FFFFFFF

    def advance(self, by_us):
        """Let time pass."""
        self.now_us += by_us
        for kind, every in enumerate(self._every):
            while self._next[kind] <= self.now_us - 6_000:  # what has ended by now
                self._happen(kind, self._next[kind], self.sent[kind])
                self.sent[kind] += 1
                self._next[kind] += every

    def _happen(self, kind, t_us, number):
        if kind == 0:
            word = number & 0xFFFF
            for bit in range(24):
                data = word >> bit & 1
                self.edges.write(data, t_us)
                self.edges.write(data | 2, t_us + 130)
                t_us += 390 if bit & 3 == 3 else 185
        elif kind in (1, 2):
            line = self.line_a if kind == 1 else self.line_b
            for value in b"%05d\r" % (number % 100_000):
                line.write(value, t_us)
                t_us += 87
        elif kind == 3:
            self.words.write((number & 0xFFFF) << 7, t_us)
        else:
            self.overruns += len(self.queue) > 1_012
            self.queue += b"\0\0\0\0\x08\0\0\0\0\0" + (number & 0x7FFF).to_bytes(2, "big")

    def readfrom_mem(self, address, register, size):
        """Answer as the motion sensor."""
        if register == 0x75:
            return b"\x68"
        if register == 0x72:
            return len(self.queue).to_bytes(2, "big")
        if register == 0x74:
            data, self.queue = self.queue[:size], self.queue[size:]
            return data
        return bytes(size)

    def writeto_mem(self, address, register, data):
        """Take a setting."""


class Identity:
    """A board without a key."""

    name, board_id, public_key = "soak", b"boardid8", None

    def sign(self, nonce, chain):
        """Sign nothing."""


class Judge:
    """Compares what the channels get with what was sent."""

    def __init__(self, kind, every_us, channel):
        self.every_us = every_us
        self.first_us = FIRST_US + every_us
        self.kind = kind
        self.got = 0
        self.missing = 0
        self.worst_us = 0
        self._expected = 1 if kind == 3 else 0  # the converter's first value is given up
        channel.follow = self.reading

    def reading(self, t_us, count, scale):
        """Take a reading."""
        self.got += 1
        number = self._expected if self.kind == 4 else self.number_of(count)
        self.missing += abs(number - self._expected)
        true_us = self.first_us + number * self.every_us
        self.worst_us = max(self.worst_us, abs(t_us - true_us))
        self._expected = number + 1

    def number_of(self, count):
        """Return which reading this is; counts go round."""
        size = (1 << 16, 100_000, 100_000, 1 << 16)[self.kind]
        if self.kind == 3:
            count = (count * (128 << 24) + 64 * 10**10) // (128 * 10**10)
        low = self._expected // size * size + count
        return low if low - self._expected < size // 2 else low - size


def build(world, clock, spool):
    """Return session, what is polled, what is drained, and the judges."""
    names = ((0, "gauge"), (2, "a"), (2, "b"), (3, "bridge"), (4, "turn"), (4, "knock"))
    session = Session(Identity(), clock, Sender(RECORD_RING), names, spool)
    c = session.channels
    gauge, line_a = Clocked24(c[0]), AsciiLine(c[1], unit=NEWTON_METRE)
    line_b, bridge = AsciiLine(c[2], unit=NEWTON_METRE), Bridge24(c[3])
    motion = Motion(c[4:6], world, PARTS["mpu6050"], 0x68, 2)
    feeds = (
        EdgeFeed(world.edges.ring, clock, gauge, False),
        ByteFeed(world.line_a.ring, clock, line_a),
        ByteFeed(world.line_b.ring, clock, line_b),
        WordFeed(world.words.ring, clock, bridge, 0),
    )
    judges = [
        Judge(0, GAUGE_US, c[0]),
        Judge(1, LINE_A_US, c[1]),
        Judge(2, LINE_B_US, c[2]),
        Judge(3, WORD_US, c[3]),
    ]
    return session, (gauge, line_a, line_b, bridge, motion), feeds, judges


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


def main(seconds, alone):
    """Run for so many simulated seconds, or until the flash is full."""
    world = World()
    clock = WideClock(world.ticks)
    flash = Flash("/tmp/soak-%d.img" % os.urandom(2)[0], PICO_W_BLOCKS)
    patient = PatientFlash(flash)
    vfs.VfsLfs2.mkfs(patient, progsize=PAGE)
    vfs.mount(vfs.VfsLfs2(patient, progsize=PAGE), "/flash")
    flash.erases = 0
    flash.stall = lambda: world.advance(STALL_US)
    spool = Spool("/flash/spool")
    session, sources, feeds, judges = build(world, clock, spool)

    def breathe():
        now_us = clock.now_us()
        for feed in feeds:
            feed.drain()
        for source in sources:
            source.poll(now_us)

    patient.breathe = breathe
    session.open(b"s" * 16, 0, 1 if alone else 0)
    host_next = 0
    first = most = live = 0
    at_minute = {}
    peak = last_us = second = 0
    while world.now_us < seconds * 1_000_000 and not (alone and spool.full):
        world.advance(STEP_US)
        breathe()
        now_us = clock.now_us()
        session.poll((now_us - last_us) // 1_000)
        last_us = now_us
        if not alone and (now_us // 1_000_000) % 120 >= 10:
            packet = session.next_record()
            while packet is not None:
                host_next = int.from_bytes(packet[2:6], "little") + 1
                packet = session.next_record()
            session.answer(m.Ack(b"ssss", host_next))
        peak = max(peak, gc.mem_alloc())
        if now_us // 1_000_000 != second:
            second = now_us // 1_000_000
            if second % 10 == 5:
                gc.collect()
                live = gc.mem_alloc()
                first = first or live
                most = max(most, live)
                if second // 60 in (1, 29, 59):
                    at_minute[(second + 59) // 60] = live
    say(judges, world, session, flash, world.now_us // 1_000_000)
    print("heap peak", peak, "live first", first, "live last", live, "most", most)
    print("heap live by minute", sorted(at_minute.items()), "bits", len("%x" % sys.maxsize) * 4)
    if alone:
        print("minutes until the flash was full", world.now_us // 60_000_000)
        print("on flash", session._sender.saved, "records")
    vfs.umount("/flash")
    os.remove(flash.path)


main(int(sys.argv[1]), "alone" in sys.argv)
