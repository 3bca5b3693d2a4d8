"""Whole numbers of any size in few bytes: seven bits a byte, least significant first.

Signed numbers are folded first (0, -1, 1, -2 … become 0, 1, 2, 3 …), so that small steps of
either sign take one byte.
"""

from .errors import FrameError

_LONGEST = 10  # bytes; enough for 64 bits


def put(out: bytearray, value: int) -> None:
    """Append a signed whole number to out."""
    folded = value * 2 if value >= 0 else -value * 2 - 1
    while folded > 0x7F:
        out.append(folded & 0x7F | 0x80)
        folded >>= 7
    out.append(folded)


def get(data: bytes, at: int) -> tuple[int, int]:
    """Read a signed whole number.

    Returns:
        The number and the position after it.

    Raises:
        FrameError: "varint" when the data ends inside the number or it is longer than 10 bytes.
    """
    folded = 0
    for index in range(_LONGEST):
        if at + index >= len(data):
            break
        byte = data[at + index]
        folded |= (byte & 0x7F) << (7 * index)
        if not byte & 0x80:
            return (-(folded + 1) // 2 if folded & 1 else folded // 2), at + index + 1
    raise FrameError("varint", at)
