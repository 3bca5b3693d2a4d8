import struct

import pytest
from hypothesis import given

from rockwire import messages as m
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
