"""Run many seeded lives of board, link, host, clocks and disk, and check what is left on disk.

    .venv/bin/python tests/soak/faults.py [--first SEED] [--seeds NUMBER]

A seed fails when a reading was lost without the capture saying so, doubled or wrong, when the seal
does not verify, or when the run hangs; it is named and replays exactly. The totals say what went
wrong on the way.
"""

import argparse
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from world import JOB, HangsError, HostKilledError, World, WorldWriter

import rockhold.record.job as job_module
from rockhold.capture.reader import read_capture
from rockhold.capture.trace import frames_of
from rockhold.errors import (
    BoardChangedError,
    CaptureFormatError,
    CaptureWriteError,
    LinkError,
)
from rockhold.record.greeting import greet
from rockhold.record.ways import Onlooker, Ways
from rockhold.upkeep.fetch import fetch, stored_captures
from rockhold.upkeep.upkeep import Upkeep
from rockwire import messages as m
from rockwire.chain import seal_text
from rockwire.receiver import TAKE, Receiver

POWER_CUT_US = 500_000


class SeedError(AssertionError):
    """A seed whose capture is not what it must be."""


def live(seed, folder):
    """Run one life and return the world and the path of its capture."""
    world = World(seed, folder)
    WorldWriter.world = world
    job_module.CaptureWriter = WorldWriter
    path = Path(folder) / f"{seed}.capture"
    ways = Ways(world.open, wait_s=5.0, may_end_other=False)
    onlooker = Onlooker(lambda message: None, lambda: False)
    while True:
        try:
            if path.exists() and has_records(path):
                job_module.resume(ways, path, onlooker, world)
            else:
                path.unlink(missing_ok=True)
                again = Ways(world.open, wait_s=5.0, may_end_other=True)
                job_module.record(again, JOB, path, onlooker, world)
            return world, path
        except HangsError as error:
            raise SeedError(f"seed {seed}: hangs") from error
        except BoardChangedError:
            fetch_rest(world, path)
            return world, path
        except (HostKilledError, CaptureWriteError, LinkError):
            world.pass_us(200_000)  # somebody starts the host again


def fetch_rest(world, path):
    """Add to a capture what a board that was reset has saved of it, as `rockhold board fetch`."""
    nonce = bytes.fromhex(read_capture(path).header["nonce"])
    while True:
        world.pass_us(200_000)
        try:
            link = world.open()
            board = Upkeep(link, world)
            who = greet(link, world)
            for stored in stored_captures(board):
                if stored.nonce == nonce and stored.next_number > records_in(path):
                    fetch(board, who, stored, path.parent, JOB)
            return
        except HangsError as error:
            raise SeedError(f"seed {path.stem}: fetching hangs") from error
        except BoardChangedError:
            return  # the board began anew under the same nonce: none of it belongs here
        except (HostKilledError, CaptureWriteError, LinkError):
            continue  # somebody tries again


def records_in(path):
    """Count the records of a capture."""
    return len(read_capture(path).records)


def has_records(path):
    """Say whether a broken-off capture can be gone on with."""
    try:
        return bool(read_capture(path).records)
    except CaptureFormatError:
        return False


def check(seed, world, path):
    """Compare what is on disk with what the gauge showed; return how many readings are there."""
    capture = read_capture(path)
    receiver = Receiver(bytes.fromhex(capture.header["nonce"]))
    got, dropped, sealed, opened_us = [], [], False, 0
    for frame in frames_of(capture):
        if receiver.judge(frame) != TAKE:
            raise SeedError(
                f"seed {seed}: record {frame.number} out of order or of another history"
            )
        if isinstance(frame.message, m.Seal):
            Ed25519PublicKey.from_public_bytes(frame.message.public_key).verify(
                frame.message.signature, seal_text(receiver.nonce, receiver.chain)
            )
            sealed = True
        receiver.take(frame)
        if isinstance(frame.message, m.Open):
            opened_us = frame.message.t_us
        if isinstance(frame.message, m.Readings):
            got += zip(frame.message.t_us, frame.message.count, strict=True)
        elif isinstance(frame.message, m.Dropped):
            dropped.append(frame.message)
    # A reset before the capture was opened is none of its own.
    later = [t_us for t_us in world.resets.get(receiver.nonce, ()) if t_us >= opened_us]
    reset_us = min(later, default=None)
    if not sealed and reset_us is None:
        raise SeedError(f"seed {seed}: the capture ends without the board's seal")
    end_us = world.t_us if reset_us is None else reset_us
    taken = {t for t in world.taken.get(receiver.nonce, ()) if opened_us <= t[0] <= end_us}
    missing = sorted(taken - set(got))
    if reset_us is not None:
        missing = without_cut_end(seed, world, missing, got, reset_us)
    if sorted(got) != got or len(set(got)) != len(got) or not set(got) <= taken:
        raise SeedError(f"seed {seed}: readings doubled, out of order or never taken")
    told = [t for d in dropped for t in missing if d.first_us <= t[0] <= d.last_us]
    if told != missing or sum(d.readings for d in dropped) != len(missing):
        raise SeedError(f"seed {seed}: {len(missing)} missing, {len(told)} of them told")
    return len(got), len(missing)


def without_cut_end(seed, world, missing, got, reset_us):
    """Return what is missing of a capture besides its end, which a reset of the board cut off.

    With a flash the end is at most what a power cut costs; without one, what no host had yet.
    """
    last_us = max((t for t, _ in got), default=0)
    cut = [reading for reading in missing if reading[0] > last_us]
    if world.board.has_flash and cut and cut[0][0] < reset_us - POWER_CUT_US:
        raise SeedError(f"seed {seed}: a reset cost {(reset_us - cut[0][0]) / 1e6:.2f} s")
    return [reading for reading in missing if reading[0] <= last_us]


def run(first, number, out=None):
    """Run seeds and return totals; a seed that fails is named on `out`, or raised without it."""
    totals = Counter({"failed seeds": 0})
    with tempfile.TemporaryDirectory(
        dir="/dev/shm" if Path("/dev/shm").is_dir() else None
    ) as folder:
        for seed in range(first, first + number):
            try:
                world, path = live(seed, folder)
                got, missing = check(seed, world, path)
            except SeedError as error:
                if out is None:
                    raise
                print(error, file=out, flush=True)
                totals.update({"seeds": 1, "failed seeds": 1})
                continue
            totals.update(world.faults.seen)
            totals.update({"seeds": 1, "readings": got, "told as dropped": missing})
            totals["world seconds"] += world.t_us // 1_000_000
            totals["cut by a reset"] += bool(world.resets)
            world.board.end()
            path.unlink()
            if out and seed % 500 == 499:
                print(f"{seed + 1 - first} seeds", file=out, flush=True)
    return totals


def main():
    """Parse the command line and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seeds", type=int, default=10_000)
    chosen = parser.parse_args()
    began = time.monotonic()
    totals = run(chosen.first, chosen.seeds, sys.stderr)
    for name, value in sorted(totals.items()):
        print(f"{name:16} {value}")
    print(f"{time.monotonic() - began:.0f} s")
    sys.exit(bool(totals["failed seeds"]))


if __name__ == "__main__":
    main()
