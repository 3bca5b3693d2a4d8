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
from rockhold.errors import CaptureFormatError, CaptureWriteError, LinkError
from rockwire import messages as m
from rockwire.chain import seal_text
from rockwire.receiver import TAKE, Receiver


class SeedError(AssertionError):
    """A seed whose capture is not what it must be."""


def live(seed, folder):
    """Run one life and return the world and the path of its capture."""
    world = World(seed)
    WorldWriter.world = world
    job_module.CaptureWriter = WorldWriter
    path = Path(folder) / f"{seed}.capture"
    ways = job_module.Ways(world.open, wait_s=5.0, may_end_other=False)
    onlooker = job_module.Onlooker(lambda message: None, lambda: False)
    while True:
        try:
            if path.exists() and has_records(path):
                job_module.resume(ways, path, onlooker, world)
            else:
                path.unlink(missing_ok=True)
                again = job_module.Ways(world.open, wait_s=5.0, may_end_other=True)
                job_module.record(again, JOB, path, onlooker, world)
            return world, path
        except HangsError as error:
            raise SeedError(f"seed {seed}: hangs") from error
        except (HostKilledError, CaptureWriteError, LinkError):
            world.pass_us(200_000)  # somebody starts the host again


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
    got, dropped, sealed = [], [], False
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
        if isinstance(frame.message, m.Readings):
            got += zip(frame.message.t_us, frame.message.count, strict=True)
        elif isinstance(frame.message, m.Dropped):
            dropped.append(frame.message)
    if not sealed:
        raise SeedError(f"seed {seed}: the capture ends without the board's seal")
    taken = set(world.taken.get(receiver.nonce, ()))
    missing = sorted(taken - set(got))
    if sorted(got) != got or len(set(got)) != len(got) or not set(got) <= taken:
        raise SeedError(f"seed {seed}: readings doubled, out of order or never taken")
    told = [t for d in dropped for t in missing if d.first_us <= t[0] <= d.last_us]
    if told != missing or sum(d.readings for d in dropped) != len(missing):
        raise SeedError(f"seed {seed}: {len(missing)} missing, {len(told)} of them told")
    return len(got), len(missing)


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
