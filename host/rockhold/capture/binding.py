"""Ties line 1 of a capture to the board's signature.

The nonce that the host gives the board when a capture opens is a hash of the capture's first line.
The board signs the nonce, so it signs which vehicle, wheel end, procedure and person stood in that
line before the first reading came. The form is in protocol/README.md, 3.2.
"""

import hashlib
import re

from rockwire import messages as m

_PREFIX = b"rockhold header 1"
_BEGINS = re.compile(
    rb'\{"rockhold":"capture","version":([0-9]{1,6}),"capture":"([0-9a-f]{16})",'
    rb'"nonce":"([0-9a-f]{32})",'
)
_ZEROS = b"0" * 32


def nonce_for(line: bytes) -> bytes:
    """Return the nonce that belongs to a header line.

    Args:
        line: Line 1, LF included; the digits of its nonce may have any value.

    Raises:
        ValueError: When the line does not begin as a header does.
    """
    begins = _BEGINS.match(line)
    if begins is None:
        raise ValueError("line 1 does not begin as the header of a capture does")
    text = line[: begins.start(3)] + _ZEROS + line[begins.end(3) :]
    return hashlib.sha256(_PREFIX + text).digest()[: m.NONCE_SIZE]
