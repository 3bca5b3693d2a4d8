from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockwire import frames
from rockwire.errors import FrameError
from support import ANSWERS, COMMANDS, RECORDS, VECTORS, cpython, micropython, needs_micropython

FOLDER = VECTORS / "frames"
RUNNER = Path(__file__).with_name("run_frame_vectors.py")


def expectations():
    lines = []
    for path in sorted(FOLDER.glob("*.txt")):
        text = path.read_text(encoding="utf-8").splitlines()
        told = [row[8:] for row in text if row.startswith("expect: ") and row != "expect: nothing"]
        lines += [f"{path.name} {way} {row}" for way in range(3) for row in told]
    return lines


def test_there_are_vectors():
    assert len(list(FOLDER.glob("*.txt"))) >= 30


def test_vectors_on_cpython():
    assert cpython(RUNNER, str(VECTORS.parent)).splitlines() == expectations()


@needs_micropython
def test_vectors_on_micropython():
    assert micropython(RUNNER, str(VECTORS.parent)).splitlines() == expectations()


@given(COMMANDS | ANSWERS)
def test_plain_frames_come_back(message):
    frame = frames.unpack(frames.pack(message))
    assert frame.message == message
    assert frame.number is None


@given(RECORDS, st.integers(0, 0xFFFFFFFF), st.binary(min_size=4, max_size=4))
def test_records_come_back(message, number, tag):
    body = frames.record_body(message, number)
    packet = frames.pack_record(body, tag)
    assert frames.unpack(packet)[:4] == (packet[1], number, message, tag)
    assert frames.body_of(packet) == body


@given(RECORDS, st.integers(0, 10_000))
def test_one_changed_bit_is_seen(message, where):
    packet = bytearray(frames.pack_record(frames.record_body(message, 1), b"tag!"))
    bit = where % (8 * len(packet))
    packet[bit // 8] ^= 1 << bit % 8
    with pytest.raises(FrameError):
        frames.unpack(bytes(packet))


def test_the_longest_frame_fits_one_notification():
    # Bluetooth Core Specification, Vol 3, Part F: a notification carries ATT_MTU - 3 bytes.
    packet = frames.pack_record(bytes(frames.LONGEST_PACKET - 6), b"\1\2\3\4")
    assert len(packet) == frames.LONGEST_PACKET
    assert len(frames.to_line(packet)) <= 185 - 3
    with pytest.raises(FrameError):
        frames.unpack(packet + b"\0")
