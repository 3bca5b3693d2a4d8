"""Time the library on many captures: adding, adding again, finding, trends; and the memory.

    PYTHONPATH=tests python tests/bench/library_speed.py [FILES] [POSTGRES-URL]

Makes FILES short captures (100 000 by default) in a folder under /tmp: 200 recordings by the real
code (simulated wheel end, the board's session, the host's writer, measurement and seal), and each
under many headers, chained, signed by the board and sealed anew. A sample is verified whole. They
stay for the next run; remove the folder when done.
"""

import hashlib
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

from rockhold.capture.reader import parse_capture
from rockhold.evidence.verify import verify_file
from rockhold.library.finding import Wanted, count, find
from rockhold.library.index import INDEX, open_library
from rockhold.library.trend import trend_of
from support_evidence import person, trusting
from support_library import base_capture, variant

ORIGINALS = 200
PER_FOLDER = 1000
PEOPLE = [person(name, secret=name.encode()) for name in ("A. Miller", "B. Ortiz", "C. Nwosu")]
SIDES = ("left", "right")
FIRST = datetime(2024, 1, 1, tzinfo=UTC)


@cache
def original(number: int) -> bytes:
    """Return a recording of its own."""
    rng = random.Random(number)
    with tempfile.TemporaryDirectory() as folder:
        return base_capture(Path(folder) / "x", rng.uniform(0.0, 0.15), seed=number)


def header_of(number: int) -> dict[str, object]:
    """Return what differs from capture to capture: a fleet of 500 vehicles with 12 wheel ends."""
    wheel_end, visit = number % 6000, number // 6000
    vehicle, place = divmod(wheel_end, 12)
    opened = FIRST + timedelta(days=60 * visit, seconds=wheel_end * 60)
    return {
        "number": f"R-{vehicle:04}",
        "position": f"axle {place // 2 + 1}, {SIDES[place % 2]}",
        "opened_utc": opened.strftime("%Y-%m-%dT%H:%M:%SZ"),
        "signer": PEOPLE[number % len(PEOPLE)],
        "capture": hashlib.sha256(str(number).encode()).hexdigest()[:16],
    }


def make_some(job: tuple[Path, int, int]) -> None:
    """Write the captures of one folder."""
    folder, first, last = job
    folder.mkdir(parents=True, exist_ok=True)
    for number in range(first, last):
        path = folder / f"{number:06}.capture"
        path.write_bytes(
            variant(original((number + 37 * (number // 6000)) % ORIGINALS), **header_of(number))
        )


def make_all(archive: Path, files: int) -> None:
    """Write what is missing of the archive."""
    jobs = []
    for first in range(0, files, PER_FOLDER):
        folder, last = archive / f"{first:06}", min(first + PER_FOLDER, files)
        there = len(list(folder.glob("*.capture"))) if folder.is_dir() else 0
        if there != last - first:
            jobs.append((folder, first, last))
    start = time.perf_counter()
    with ProcessPoolExecutor() as pool:
        list(pool.map(make_some, jobs))
    sizes = [path.stat().st_size for path in (archive / "000000").iterdir()]
    print(
        f"{files} captures of {sum(sizes) / len(sizes) / 1000:.1f} kB in {archive}, "
        f"{len(jobs)} folders made now in {time.perf_counter() - start:.0f} s"
    )
    rng = random.Random(1)
    trust = trusting(*PEOPLE)
    sample = rng.sample(sorted(archive.rglob("*.capture")), 50)
    states = {verify_file(path, trust).state for path in sample}
    lines = len(parse_capture(sample[0], sample[0].read_bytes()).records)
    print(f"50 of them verified whole: {states}; {lines} records in the first")


def command(*arguments: str) -> tuple[float, float, float]:
    """Run rockhold; return its seconds, its processors' seconds, and its largest memory in MB."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    program = [sys.executable, "-c", _MEASURED, *arguments]
    done = subprocess.run(program, capture_output=True, text=True, check=False)
    took_s = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    used_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    told = (done.stdout + done.stderr).splitlines()
    memory_mb = float(told[-1].split()[-1]) if told and told[-1].startswith("memory ") else 0.0
    print("   ", next((line for line in told if " files: " in line), told[:1]))
    return took_s, used_s, memory_mb


_MEASURED = """
import atexit, resource, sys
from rockhold.cli import main
def tell():
    print("memory", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, file=sys.stderr)
atexit.register(tell)
main()
"""


def best_ms(work, times: int = 9) -> float:
    """Return the middle one of several runs, in ms."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    return 1000 * sorted(took)[times // 2]


def main() -> None:
    """Measure and print."""
    files = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    archive = Path("/tmp/rockhold-bench-library")
    make_all(archive, files)
    home = Path(tempfile.mkdtemp(prefix="rockhold-bench-"))
    os.environ["ROCKHOLD_HOME"] = str(home)
    os.environ[INDEX] = sys.argv[2] if len(sys.argv) > 2 else str(home / "library.sqlite")
    cores = os.cpu_count() or 1
    folders = sorted(str(path) for path in archive.iterdir())[: -(-files // PER_FOLDER)]
    try:
        for share in (10, 1):
            part = folders[: max(1, len(folders) // share)]
            number = sum(1 for folder in part for _ in Path(folder).iterdir())
            took_s, used_s, memory_mb = command("library", "add", *part)
            print(
                f"added up to {number}: {took_s:.1f} s, {used_s:.1f} s of {cores} processors; "
                f"largest memory of the first process {memory_mb:.0f} MB"
            )
            if share == 1:
                fresh = number - max(1, number // 10)
                print(f"  {fresh / took_s:.0f}/s, {fresh / used_s:.0f} per second of one core")
        took_s, _, memory_mb = command("library", "add", *folders)
        print(f"added again, all known: {took_s:.1f} s, {memory_mb:.0f} MB")
        ask(files)
    finally:
        shutil.rmtree(home)


def ask(files: int) -> None:
    """Time questions to the index."""
    with open_library() as library:
        (some,) = find(library, Wanted(verdict="accept"), 1)
        vehicle, place = some.columns["vehicle"], some.columns["wheel_end"]
        questions = {
            "vehicle": Wanted(vehicle=vehicle),
            "vehicle and wheel end": Wanted(vehicle=vehicle, wheel_end=place),
            "vehicles R-01*": Wanted(vehicle="R-01*"),
            "person, a part of the name": Wanted(person="ortiz"),
            "verdict reject": Wanted(verdict="reject"),
            "verdict and days": Wanted(verdict="accept", since=FIRST.date(), until=FIRST.date()),
            "finding": Wanted(finding="few_cycles"),
            "tool": Wanted(tool="gauge"),
            "everything": Wanted(),
        }
        print(f"first 50 and their count, of {count(library, Wanted())}:")
        for name, wanted in questions.items():
            took_ms = best_ms(lambda w=wanted: (list(find(library, w, 50)), count(library, w)))
            print(f"{took_ms:8.1f} ms  {count(library, wanted):7} found: {name}")
        life = trend_of(library, vehicle, place)
        took_ms = best_ms(lambda: trend_of(library, vehicle, place))
        print(f"{took_ms:8.1f} ms  trend of {len(life.points)} measurements")
    program = [sys.executable, "-m", "rockhold", "library", "find", "--vehicle", vehicle]
    took_ms = best_ms(lambda: subprocess.run(program, capture_output=True, check=True), 5)
    print(f"{took_ms:8.1f} ms  the whole command `library find --vehicle {vehicle}`")


if __name__ == "__main__":
    main()
