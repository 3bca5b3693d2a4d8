"""Measure how many readings a second get through over radio, at an MTU of 185.

    PYTHONPATH=tests .venv/bin/python tests/bench/radio_rate.py [--seconds 20]

The board's own program in MicroPython, a converter that is read 500 times a second, ATT by bumble,
bleak, and the recorder that writes each record to disk. What it leaves out is the air: a chip's
stack is slower than bumble. Each row: readings a second offered and recorded, how long the last one
took to be on disk, seal included, and the load on the air.
"""

import argparse
import sys
import tempfile
import threading
import time
from pathlib import Path

from radio_air import Air
from radio_bench import RadioBench
from rockhold.capture.reader import read_capture
from rockhold.capture.trace import frames_of
from rockhold.record.job import record
from rockhold.record.ways import Onlooker, Ways
from rockwire import messages as m
from support_evidence import JOB

_SETTINGS = {"sources": [{"kind": "bridge24", "name": "torque"}]}
_STEP_US = 2_000  # 500 a second by the board's clock
_CHUNK = 10


def run(rate_hz, seconds, mtu=185):
    """Offer readings at a rate of the wall clock and return what came of it."""
    number = int(rate_hz * seconds)
    with (
        tempfile.TemporaryDirectory() as folder,
        Air(mtu) as air,
        RadioBench(air, Path(folder), settings=_SETTINGS) as board,
    ):
        path = Path(folder) / "rate.capture"
        begun = threading.Event()
        shown = []

        def show():
            begun.wait()
            start_s = time.monotonic()
            for first in range(0, number, _CHUNK):
                ahead_s = start_s + first / rate_hz - time.monotonic()
                if ahead_s > 0:
                    time.sleep(ahead_s)
                for index in range(first, first + _CHUNK):
                    board.send_word(index * 7 % 4096, 100_000 + index * _STEP_US)
            shown.append(time.monotonic())
            shown.append(shown[0] - start_s)
            board.press_button(200_000 + number * _STEP_US)

        board.send_word(0, 50_000)  # a first value is left out: it may have another gain
        threading.Thread(target=show, daemon=True).start()
        onlooker = Onlooker(lambda message: begun.set(), lambda: False)
        record(Ways(board.connect), JOB, path, onlooker)
        end_s = time.monotonic()
        taken, dropped = counted(path)
        return {
            "offered_hz": number / shown[1],
            "recorded": taken,
            "dropped": dropped,
            "missing": number - taken - dropped,
            "late_s": end_s - shown[0],
            "notifications_hz": air.stack.notifications / shown[1],
            "bytes_hz": sum(air.stack.lengths) / shown[1],
        }


def counted(path):
    """Return how many readings a capture holds, and how many the board says it dropped."""
    messages = [frame.message for frame in frames_of(read_capture(path))]
    taken = sum(len(message.count) for message in messages if isinstance(message, m.Readings))
    return taken, sum(one.readings for one in messages if isinstance(one, m.Dropped))


def main():
    """Print one row for each rate; fail when 500 a second do not get through whole."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=20)
    chosen = parser.parse_args()
    print("MTU  offered/s  recorded  dropped  missing  last on disk after  notif./s  bytes/s")
    good = True
    for mtu, rate_hz in ((185, 500), (185, 1000), (185, 2000), (185, 4000), (23, 500)):
        row = run(rate_hz, chosen.seconds if rate_hz == 500 else chosen.seconds / 4, mtu)
        print(
            f"{mtu:3}  {row['offered_hz']:9.0f}  {row['recorded']:8}  {row['dropped']:7}  "
            f"{row['missing']:7}  {row['late_s']:16.2f} s  {row['notifications_hz']:8.0f}  "
            f"{row['bytes_hz']:7.0f}",
            flush=True,
        )
        good &= row["missing"] == 0 and (rate_hz > 500 or row["dropped"] == 0)
    sys.exit(not good)


if __name__ == "__main__":
    main()
