import importlib.util
import struct

import pytest
from hypothesis import given

from rockwire import messages as m
from rockwire import upkeep as u
from rockwire import wire
from rockwire.errors import FrameError
from rockwire.units import HALF_THOU
from support import ANSWERS, COMMANDS, RECORDS, readings


@given(COMMANDS | ANSWERS | RECORDS)
def test_every_message_comes_back(message):
    assert wire.decode(wire.type_of(message), wire.encode(message)) == message


@given(readings())
def test_a_payload_cut_anywhere_is_refused(message):
    payload = wire.encode(message)
    for size in range(len(payload)):
        with pytest.raises(FrameError):
            wire.decode(wire.READINGS, payload[:size])


def test_a_steady_gauge_costs_three_bytes_a_reading():
    times = tuple(1_000_000 + 71_900 * i + (i * 37) % 61 for i in range(40))
    counts = tuple(100 + i % 3 for i in range(40))
    payload = wire.encode(m.Readings(0, HALF_THOU, times, counts))
    assert len(payload) <= struct.calcsize("<BBBbBQI") + 3 * 40


def test_a_long_name_is_cut_at_its_limit():
    payload = wire.encode(m.Source(0, 0, "x" * 60))
    assert wire.decode(0x81, payload).name == "x" * m.NAME_SIZE


@pytest.mark.parametrize(
    ("kind", "payload", "at"),
    [
        (0x01, b"\x07", 1),
        (0x01, b"\x07\x00\x00", 2),
        (0x08, bytes(24), 24),
        (0x52, b"\x0d\x00\x00", 3),
        (0x52, b"\x0d\x00\x00\x05abc", 3),
        (0x81, b"\x00\x00\x02\xc3\x28", 3),
        (0x82, bytes(17), 17),
        (0x82, b"\x00\x02\x05\xfc\x00" + bytes(13), 4),
        (0x82, b"\x00\x02\x00\xfc\x01" + bytes(13), 2),
        (0x82, b"\x00\x02\x05\xfc\x01" + bytes(14), 18),
        (0x85, bytes(31), 31),
        (0x85, bytes(33), 32),
    ],
)
def test_a_refusal_says_where(kind, payload, at):
    with pytest.raises(FrameError) as caught:
        wire.decode(kind, payload)
    assert (caught.value.reason, caught.value.offset) == ("payload", at)


def test_the_shortest_guarded_command_has_no_payload():
    message = m.Guarded(5, 3, b"", bytes(16))
    assert wire.decode(wire.GUARDED, wire.encode(message)) == message
    assert len(wire.encode(message)) == 8 + 1 + 16


@pytest.mark.parametrize("kind", u.LAYOUTS)
def test_a_board_just_switched_on_understands_each_message_of_upkeep(kind):
    # They stand in a file of their own that is loaded when the first of them comes.
    fresh = importlib.util.module_from_spec(importlib.util.find_spec("rockwire.wire"))
    fresh.__spec__.loader.exec_module(fresh)
    make, layout, named = u.LAYOUTS[kind]
    payload = bytes(struct.calcsize(layout)) + (b"\x01A" if named else b"")
    assert isinstance(fresh.decode(kind, payload), make)


@pytest.mark.parametrize("kind", [0x00, 0x17, 0x40, 0x4F, 0x56, 0x88, 0xFF])
def test_a_type_that_nobody_described_is_not_known(kind):
    assert wire.decode(kind, b"") is None


@pytest.mark.parametrize(
    ("times", "spacing"),
    [
        ((7,), 0),
        ((7, 9), 2),
        ((0, 10, 21), 10),
        ((9, 7), 0),  # a clock never goes back, but a sender must not send a negative spacing
        ((0, 1 << 40), 0xFFFFFFFF),
    ],
)
def test_the_spacing_is_the_mean_step(times, spacing):
    # protocol/README.md, 1.4
    assert wire.spacing_of(times) == spacing
    payload = wire.encode(m.Readings(0, HALF_THOU, times, (1,) * len(times)))
    assert struct.unpack("<I", payload[13:17])[0] == spacing


def test_a_batch_has_at_most_255_readings_and_data_120_bytes():
    # protocol/README.md, 1.4 and 1.8
    many = m.Readings(0, HALF_THOU, tuple(range(255)), (0,) * 255)
    assert wire.decode(wire.READINGS, wire.encode(many)) == many
    with pytest.raises(struct.error):
        wire.encode(many._replace(t_us=tuple(range(256)), count=(0,) * 256))
    told = wire.decode(0x52, wire.encode(u.Told(1, 0, b"x" * 130)))
    assert told.data == b"x" * 120
