"""Cut the power of a recording board at its flash's writes and erases, and look what is left.

    micropython -X heapsize=24m run_powercut.py STEP [FIRST]

A board with a gauge (14 readings a second) and a bridge converter (80 a second) records alone for
SECONDS, beside an older capture. Its file system is littlefs as MicroPython has it, on a flash in
memory. The session is run once to its end; then again and again from the same beginning, with the
power cut at every STEP-th write or erase. After each cut the flash is mounted afresh and the
capture is read back.
"""

import gc
import sys

import vfs
from ram_flash import PAGE, PowerCutError, RamFlash

from rockboard.session import Session
from rockboard.spool import Spool
from rockwire import frames
from rockwire import messages as m
from rockwire.chain import Chain
from rockwire.sender import Sender
from rockwire.units import HALF_THOU, NEWTON_METRE, Scale

BLOCKS = 40
SECONDS = 20
TORQUE = Scale(NEWTON_METRE, 1, -2)
OLD, NEW = b"o" * 16, b"n" * 16
MOST_LOST_US = 500_000
KEPT = []  # boards whose power was cut; collecting them would close their files


class Clock:
    """Simulated time."""

    t_us = 0

    def now_us(self):
        """Return it."""
        return self.t_us


class Identity:
    """A board with a key that signs at once."""

    name = "powercut"
    board_id = b"boardid8"
    public_key = bytes(32)

    def sign(self, nonce, chain):
        """Return what stands for a signature."""
        return chain.head + chain.head


def mount(image):
    """Return the flash with its file system mounted at /flash."""
    flash = RamFlash(image)
    vfs.mount(vfs.VfsLfs2(flash, progsize=PAGE), "/flash")
    return flash


def record(clock, nonce, seconds, flash=None, cut_at=0):
    """Record alone for a while; return the times of all readings taken."""
    ring = bytearray(4_096)
    names = ((0, "gauge"), (3, "torque"))
    session = Session(Identity(), clock, Sender(ring), names, Spool("/flash/s"))
    KEPT.append(session)
    if flash is not None:
        flash.cut_at = cut_at and flash.operations + cut_at
    taken = []
    try:
        session.open(nonce, 0, 1)
        end_us = clock.t_us + seconds * 1_000_000
        gauge_us = torque_us = clock.t_us
        while clock.t_us < end_us:
            clock.t_us += 12_500
            if clock.t_us >= gauge_us:
                gauge_us += 71_900
                session.channels[0].reading(clock.t_us, clock.t_us // 1000 % 977, HALF_THOU)
                taken.append((0, clock.t_us))
            if clock.t_us >= torque_us:
                torque_us += 12_500
                session.channels[1].reading(clock.t_us, clock.t_us // 100 % 3001, TORQUE)
                taken.append((1, clock.t_us))
            session.poll(12)
        session.close(m.BY_BUTTON)
        for _ in range(30):
            session.poll(12)
    except PowerCutError:
        pass
    return taken


def read_back(nonce):
    """Return (times of the readings on flash, whether the capture is whole); checks the chain."""
    spool = Spool("/flash/s")
    number = spool.find(nonce)
    if number is None:
        return set(), False
    reader = spool.reader(number)
    chain = Chain(nonce)
    times = set()
    last = None
    assert reader.first == 0
    for at in range(reader.count()[0]):
        frame = frames.unpack(reader.read(at))
        assert frame.number == at
        assert chain.extend(frames.body_of(frame.packet)) == frame.tag, "chain broken at %d" % at
        last = frame.message
        if isinstance(last, m.Readings):
            times.update([(last.source, t_us) for t_us in last.t_us])
    reader.close()
    return times, isinstance(last, m.Seal)


def goes_on(clock):
    """Check that a new capture can be recorded on what is left."""
    taken = record(clock, b"a" * 16, 1)
    times, whole = read_back(b"a" * 16)
    assert whole
    assert times == set(taken)


def main(step, first):
    """Try the cuts and print what was lost."""
    clock = Clock()
    image = bytearray(b"\xff" * (BLOCKS * 4_096))
    vfs.VfsLfs2.mkfs(RamFlash(image), progsize=PAGE)
    mount(image)
    old_taken = record(clock, OLD, 5)
    vfs.umount("/flash")
    begin = bytes(image)
    began_us = clock.t_us
    flash = mount(image)
    before = flash.operations
    taken = record(clock, NEW, SECONDS)
    print("session of", SECONDS, "s:", len(taken), "readings,", end=" ")
    print(flash.writes, "writes and", flash.erases, "erases of the flash")
    total = flash.operations - before
    assert read_back(NEW) == (set(taken), True)
    vfs.umount("/flash")
    lost_ms = []
    for cut_at in range(first, total + 1, step):
        gc.collect()
        image[:] = begin
        clock.t_us = began_us
        flash = mount(image)
        taken = record(clock, NEW, SECONDS, flash, cut_at)
        cut_us = clock.t_us
        vfs.umount("/flash")
        mount(image)
        times, _ = read_back(NEW)
        lost = sorted([t_us for source, t_us in set(taken) - times])
        lost_us = cut_us - lost[0] if lost else 0
        assert lost_us <= MOST_LOST_US, "cut %d lost %d us" % (cut_at, lost_us)
        assert read_back(OLD) == (set(old_taken), True), "cut %d spoilt an older capture" % cut_at
        goes_on(clock)
        vfs.umount("/flash")
        lost_ms.append(lost_us // 1000)
    lost_ms.sort()
    print("cut points tried", len(lost_ms), "of", total)
    print("captures spoilt 0, older captures spoilt 0, chains broken 0")
    print("lost in ms: median", lost_ms[len(lost_ms) // 2], "longest", lost_ms[-1])


main(int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1)
