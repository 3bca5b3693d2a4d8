"""HMAC-SHA-256, the code by which a board knows that a command comes from its own host.

Source: RFC 2104, section 2, with SHA-256 as the hash (RFC 4231 gives the test cases).
"""

from hashlib import sha256

_BLOCK = 64


def hmac256(key: bytes, message: bytes) -> bytes:
    """Return the 32-byte HMAC-SHA-256 of a message.

    Args:
        key: Secret of any length; one longer than 64 bytes is hashed first.
        message: What is to be protected.

    Source: RFC 2104, section 2.
    """
    if len(key) > _BLOCK:
        key = sha256(key).digest()
    key = key + bytes(_BLOCK - len(key))
    inner = sha256(bytes([byte ^ 0x36 for byte in key]))
    inner.update(message)
    outer = sha256(bytes([byte ^ 0x5C for byte in key]))
    outer.update(inner.digest())
    return outer.digest()


def same_code(got: bytes, expected: bytes) -> bool:
    """Say whether two codes are equal, looking at every byte whatever the first ones are.

    A comparison that stops at the first difference tells a stranger by its timing how many bytes
    were right. The lengths are no secret and may differ: the answer is then no.
    """
    if len(got) != len(expected):
        return False
    difference = 0
    for at in range(len(expected)):
        difference |= got[at] ^ expected[at]
    return difference == 0
