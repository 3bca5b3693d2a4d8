"""Time the verification of captures: one of 60 s, and an archive.

    PYTHONPATH=tests python tests/bench/verify_speed.py [FILES]

Prints what each step takes, the signatures apart, and as a peer what the same signature check takes
in `cryptography` alone over the same bytes.
"""

import base64
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

from rockhold.bulk.pool import run_all
from rockhold.capture.packets import unpacked
from rockhold.capture.reader import parse_capture
from rockhold.evidence.boardproof import check_records
from rockhold.evidence.findings import not_examined
from rockhold.evidence.result import result_of
from rockhold.evidence.seal import check_seal, find_seals
from rockhold.evidence.verify import verify_bytes, verify_file
from rockhold.simulator.scenario import Scenario, Technician
from support_evidence import GAUGE, TECHNICIAN, TRUST, make_capture


def best_ms(work, times: int = 30) -> float:
    """Return the shortest of several runs, in ms; each decodes its packets anew."""
    work()
    best = float("inf")
    for _ in range(times):
        unpacked.cache_clear()
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return 1000 * best


def main() -> None:
    """Measure and print."""
    files = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory() as folder:
        long = Scenario(technician=Technician(cycles=7), gauge=GAUGE)
        path = make_capture(Path(folder) / "long.capture", scenario=long)
        data = path.read_bytes()
        capture = parse_capture(path, data)
        seal = find_seals(data)[0]
        line_1 = data[: data.find(b"\n") + 1]
        key = TECHNICIAN.key.public_key
        signed = seal.head + b"." + base64.urlsafe_b64encode(data[: seal.start]).rstrip(b"=")
        signature = base64.urlsafe_b64decode(seal.signature + b"==")
        steps = {
            "find the seals": lambda: find_seals(data),
            "check a seal": lambda: check_seal(data, seal),
            "(the same signature in `cryptography`)": lambda: key.verify(signature, signed),
            "read the lines": lambda: parse_capture(path, data),
            "check the board's records and seal": lambda: check_records(capture, line_1),
            "compute the result": lambda: result_of(capture),
            "verify": lambda: verify_bytes(path, data, TRUST),
        }
        seconds = result_span_s(capture)
        print(f"capture of {seconds:.0f} s, {len(data)} bytes, {len(capture.records)} records")
        for name, work in steps.items():
            print(f"{best_ms(work):8.3f} ms  {name}")
        several = [make_capture(Path(folder) / f"{n}.capture", seed=n) for n in range(24)]
        archive = [several[n % len(several)] for n in range(files)]
        work = partial(verify_file, trust=TRUST)
        start = time.perf_counter()
        states = [found.state for found in run_all(archive, work, not_examined)]
        took_s = time.perf_counter() - start
        each_ms = 1000 * took_s / files
        print(f"{files} captures of 30 s: {took_s:.1f} s, {each_ms:.2f} ms each, {set(states)}")


def result_span_s(capture) -> float:
    """Return how long the capture is, in s."""
    from rockhold.capture.trace import trace_of

    t_us = trace_of(capture).t_us
    return float(t_us[-1] - t_us[0]) / 1e6


if __name__ == "__main__":
    main()
