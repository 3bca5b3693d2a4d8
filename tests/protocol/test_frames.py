from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockwire import frames
from rockwire import messages as m
from rockwire.errors import FrameError
from support import ANSWERS, COMMANDS, RECORDS, VECTORS, cpython, micropython, needs_micropython

FOLDER = VECTORS / "frames"
RUNNER = Path(__file__).with_name("run_frame_vectors.py")


def expectations():
    lines = []
    for path in sorted(FOLDER.glob("*.txt")):
        text = path.read_text(encoding="utf-8").splitlines()
        assert any(row.startswith("expect: ") for row in text), f"{path.name}: no expect: line"
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


RECORD = frames.pack_record(frames.record_body(m.Close(5, 0), 3), b"tag!")


@pytest.mark.parametrize(
    ("packet", "reason", "at"),
    [
        (bytes(181), "long", 180),
        (bytes(3), "short", 3),
        (frames._close(b"\x01")[:3], "short", 3),
        (RECORD[:-1] + bytes((RECORD[-1] ^ 1,)), "crc", len(RECORD) - 2),
        (frames._close(b"\x02\x01\x07\x00"), "version", 0),
        (frames._close(b"\x01\x86" + bytes(7)), "short", 11),
        (frames._close(b"\x01\x86" + bytes(8)), "payload", 0),
        (frames._close(b"\x01\x01\x07"), "payload", 1),
    ],
)
def test_a_refusal_says_why_and_where(packet, reason, at):
    with pytest.raises(FrameError) as caught:
        frames.unpack(packet)
    assert (caught.value.reason, caught.value.offset) == (reason, at)


def test_the_shortest_frame_is_a_type_that_nobody_knows_without_payload():
    packet = frames._close(b"\x01\x3f")
    assert frames.unpack(packet) == (0x3F, None, None, None, packet)


def test_the_sizes_of_the_specification():
    # protocol/README.md, 1.1: payload 0-168 in a record.
    assert frames.LONGEST_RECORD_PAYLOAD == 168
    assert frames.unpack(RECORD)[:4] == (0x86, 3, m.Close(5, 0), b"tag!")
    assert frames.unpack(RECORD).packet == RECORD
