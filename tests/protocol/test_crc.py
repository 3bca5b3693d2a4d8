import crccheck.crc
from hypothesis import given
from hypothesis import strategies as st

from rockwire.crc import crc16

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
