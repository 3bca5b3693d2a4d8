"""What a board says of itself over radio, against bumble's reader of advertisements."""

import re

from bumble.core import UUID, AdvertisingData
from hypothesis import given
from hypothesis import strategies as st

from interpreters import run_on_both
from rockwire import radio
from support import PROTOCOL, needs_micropython

FACTS = st.builds(
    radio.Facts,
    st.binary(min_size=8, max_size=8),
    st.booleans(),
    st.booleans(),
    st.integers(0, 5100).map(lambda mv: mv - mv % 20),
)
MOST = 31  # bytes of a legacy advertisement (Bluetooth Core Specification, Vol 6, Part B, 2.3.1)


@given(FACTS)
def test_what_is_said_is_understood(facts):
    assert radio.unpack(radio.pack(facts)) == facts


@given(FACTS)
def test_another_reader_understands_the_advertisement(facts):
    said = radio.advertisement(facts)
    assert len(said) <= MOST
    parts = AdvertisingData.from_bytes(said)
    ((uuid, data),) = parts.get_all(AdvertisingData.Type.SERVICE_DATA_128_BIT_UUID)
    assert uuid == UUID(radio.SERVICE)
    assert radio.unpack(bytes(data)) == facts


def test_the_name_fits_whole():
    name = "ä" * 12  # the longest: 24 bytes
    said = radio.response(name)
    assert len(said) <= MOST
    assert AdvertisingData.from_bytes(said).get(AdvertisingData.Type.COMPLETE_LOCAL_NAME) == name


@given(st.binary(max_size=40))
def test_any_service_data_is_read_or_refused(data):
    facts = radio.unpack(data)
    assert facts is None or (len(data) == 10 and data[0] >> 4 == radio.VERSION)


def test_the_bytes_are_those_of_the_specification():
    # protocol/README.md, 1.9: version and state, battery in 20 mV, board id.
    board_id = bytes(range(8))
    for recording, taken, state in ((0, 0, 0x10), (1, 0, 0x11), (0, 1, 0x12), (1, 1, 0x13)):
        said = radio.pack(radio.Facts(board_id, recording, taken, 3719))
        assert said == bytes((state, 185)) + board_id


def test_the_uuids_are_those_of_the_specification():
    text = (PROTOCOL / "README.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| ([a-z ]+) \| `([0-9a-f-]{36})` \|", text, re.M)
    assert [uuid for _, uuid in rows] == [radio.SERVICE, radio.TO_HOST, radio.TO_BOARD]


def test_it_can_be_found_and_speaks_low_energy_only():
    # Core Specification Supplement, Part A, 1.3: bit 1 general discoverable, bit 2 no classic.
    parts = AdvertisingData.from_bytes(radio.advertisement(radio.Facts(bytes(8), False, False, 0)))
    assert parts.get(AdvertisingData.Type.FLAGS) == 0x06


def test_a_battery_above_the_scale_does_not_wrap():
    assert radio.unpack(radio.pack(radio.Facts(bytes(8), True, False, 9000))).battery_mv == 5100


PROGRAM = """
import sys
from binascii import hexlify
from rockwire import radio
for line in sys.stdin:
    number, mv = [int(part) for part in line.split()]
    facts = radio.Facts(bytes(range(number, number + 8)), number & 1, number & 2, mv)
    print(hexlify(radio.advertisement(facts) + radio.response("bay %d" % number)).decode())
"""


@needs_micropython
def test_both_interpreters_agree():
    board, host = run_on_both(PROGRAM, [f"{n} {n * 1000}" for n in range(6)])
    assert board == host
    assert len(host) == 6
