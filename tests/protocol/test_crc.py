import crccheck.crc
from hypothesis import given
from hypothesis import strategies as st

from rockwire.crc import _by_table, crc16

CHECK = b"123456789"


def test_catalogue_check_value():
    # Public catalogue of CRC algorithms, CRC-16/IBM-3740.
    assert crc16(CHECK) == 0x29B1


def test_is_none_of_its_near_misses():
    # Same catalogue: XMODEM, KERMIT, MODBUS and ARC differ only in start value or bit order.
    assert crc16(CHECK) not in (0x31C3, 0x2189, 0x4B37, 0xBB3D)
    assert crccheck.crc.CrcXmodem.calc(CHECK) == 0x31C3


@given(st.binary(max_size=300))
def test_equals_crccheck(data):
    assert crc16(data) == crccheck.crc.Crc16Ibm3740.calc(data)


@given(st.binary(max_size=100), st.binary(max_size=100))
def test_goes_on_from_an_earlier_result(first, second):
    assert crc16(second, crc16(first)) == crc16(first + second)


@given(st.binary(max_size=300), st.integers(0, 0xFFFF))
def test_the_boards_way_gives_the_same(data, earlier):
    # A board has no CRC in C and goes by the table.
    assert _by_table(data, earlier) == crc16(data, earlier)


def test_the_table_is_that_of_the_polynomial():
    # The CRC of one byte from zero, by the definition: shift, and take 0x1021 off.
    assert [_by_table(bytes((byte,)), 0) for byte in (0, 1, 2, 0x80, 0xFF)] == [
        crccheck.crc.CrcXmodem.calc(bytes((byte,))) for byte in (0, 1, 2, 0x80, 0xFF)
    ]
