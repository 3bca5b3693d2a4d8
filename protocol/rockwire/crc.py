"""CRC-16/IBM-3740: guards each frame against damage on the line.

Polynomial 0x1021, initial value 0xFFFF, not reflected, no final exclusive-or.
Source: the public catalogue of CRC algorithms, entry CRC-16/IBM-3740 (check value 0x29B1).
"""

import binascii
from array import array

# CPython has this CRC in C; a board has not.
_FAST = getattr(binascii, "crc_hqx", None)

INITIAL = 0xFFFF
_POLYNOMIAL = 0x1021


def _make_table() -> array:
    table = array("H", bytes(512))
    for byte in range(256):
        crc = byte << 8
        for _ in range(8):
            crc = (crc << 1) ^ (_POLYNOMIAL if crc & 0x8000 else 0)
        table[byte] = crc & 0xFFFF
    return table


_TABLE = _make_table()


def crc16(data: bytes, crc: int = INITIAL) -> int:
    """Return the CRC of data; pass an earlier result as `crc` to go on from it."""
    if _FAST is not None:
        return _FAST(data, crc)
    return _by_table(data, crc)


def _by_table(data: bytes, crc: int) -> int:
    table = _TABLE
    for byte in data:
        crc = ((crc << 8) & 0xFFFF) ^ table[(crc >> 8) ^ byte]
    return crc
