"""The form of a capture's files on flash: a header, then records behind a length byte each.

header = "RHC1", nonce 16, number of the first record 4
"""

import struct

HEAD_SIZE = 24
_FORM = "<4s16sI"
_MAGIC = b"RHC1"


def head(nonce: bytes, number: int) -> bytes:
    """Return the header of a file whose first record has this number."""
    return struct.pack(_FORM, _MAGIC, nonce, number)


def read_head(path: str):
    """Return (nonce, number of the first record) of a file, None where there is no good header."""
    try:
        with open(path, "rb") as file:
            data = file.read(HEAD_SIZE)
    except OSError:
        return None
    if len(data) < HEAD_SIZE or data[:4] != _MAGIC:
        return None
    return struct.unpack(_FORM, data)[1:]
