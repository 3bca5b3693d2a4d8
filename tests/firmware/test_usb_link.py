"""The link over the console, by MicroPython on a pseudo-terminal: what others fell into there."""

import contextlib
import os
import select
import subprocess
import sys
import time
import tty
from pathlib import Path

import pytest

from support import FIRMWARE, PROTOCOL, needs_micropython

pytestmark = needs_micropython
RUNNER = Path(__file__).with_name("run_usb_echo.py")
ANY_BYTE = bytes(range(1, 256))  # Ctrl-C, Ctrl-D, XON and XOFF among them


@contextlib.contextmanager
def echo():
    """A terminal that sends back what is written to it."""
    near, far = os.openpty()
    tty.setraw(far)
    running = subprocess.Popen(
        [sys.executable, "-m", "micropython", str(RUNNER)],
        stdin=far, stdout=far,
        env={**os.environ, "MICROPYPATH": f"{PROTOCOL}:{FIRMWARE}:.frozen"},
    )  # fmt: skip
    os.close(far)
    os.set_blocking(near, False)
    try:
        yield near, running
    finally:
        running.kill()
        running.wait()
        os.close(near)


def read_for(near, size, limit_s=15.0):
    """Return so many bytes, or those that came in time."""
    got, end_s = b"", time.monotonic() + limit_s
    while len(got) < size and time.monotonic() < end_s:
        if select.select([near], [], [], 0.1)[0]:
            try:
                got += os.read(near, 4096)
            except OSError:
                break  # the program has ended
    return got


@pytest.mark.parametrize("size", [1, 63, 64, 65, 4_000])
def test_any_byte_comes_through_however_many_there_are(size):
    data = (ANY_BYTE * 16)[:size]
    with echo() as (near, running):
        os.write(near, data)
        assert read_for(near, size) == data  # and no read waits for more than there is
        assert running.poll() is None


def test_a_host_that_stops_reading_holds_nothing_up():
    data = (ANY_BYTE * 80)[:20_000]  # far more than a terminal holds
    with echo() as (near, _):
        at = 0
        while at < len(data):  # all of it is taken although nobody reads what comes back
            assert select.select([], [near], [], 5.0)[1], f"stands still after {at} bytes"
            at += os.write(near, data[at : at + 512])
        time.sleep(0.5)
        assert read_for(near, len(data)) == data
        os.write(near, b"\0")
        longest_us = int(read_for(near, 16, 3.0).split(b"longest ")[1].split()[0])
    assert longest_us < 200_000  # of one round, with nobody reading


def test_the_rate_that_one_byte_at_a_time_reaches():
    data = ANY_BYTE * 400
    with echo() as (near, _):
        begin_s, got, at = time.monotonic(), b"", 0
        while len(got) < len(data):
            readable, writable, _ = select.select([near], [near] if at < len(data) else [], [], 5)
            if writable:
                at += os.write(near, data[at : at + 512])
            if readable:
                got += os.read(near, 4096)
        rate = len(data) / (time.monotonic() - begin_s)
    assert got == data
    assert rate > 10_000  # bytes a second, both ways; 500 readings a second need 1.5 kB
