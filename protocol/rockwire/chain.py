"""The chain: every record of a capture changes a SHA-256 value that the board signs at the end.

    h₀     = SHA-256("rockhold chain 1" ‖ nonce)
    hₙ₊₁   = SHA-256(hₙ ‖ body of record n)
    tag of record n = first 4 bytes of hₙ₊₁

The tag travels with the record, so that a host sees at once, before it stores and acknowledges,
that it holds the same history as the board; against a forger only the signature counts.
"""

import hashlib

from .frames import TAG_SIZE

_PREFIX = b"rockhold chain 1"
_SEAL_PREFIX = b"rockhold board seal 1"


class Chain:
    """The running value.

    Attributes:
        head: 32 bytes; the value after all records so far.
        count: How many records it has taken.
    """

    def __init__(self, nonce: bytes) -> None:
        self.head = hashlib.sha256(_PREFIX + nonce).digest()
        self.count = 0

    def preview(self, body: bytes) -> bytes:
        """Return the value that `body` would lead to, without taking it."""
        return hashlib.sha256(self.head + body).digest()

    def extend(self, body: bytes) -> bytes:
        """Take a record and return its tag."""
        self.head = self.preview(body)
        self.count += 1
        return self.head[:TAG_SIZE]


def seal_text(nonce: bytes, chain: Chain) -> bytes:
    """Return the bytes that the board signs: prefix, nonce, head, number of records (u32)."""
    return _SEAL_PREFIX + nonce + chain.head + chain.count.to_bytes(4, "little")
