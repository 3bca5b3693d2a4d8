"""HMAC-SHA-256 against RFC 4231 and the standard library, on both interpreters."""

import hashlib
import hmac
import random

import pytest

from interpreters import run_on_both
from rockwire.hmac256 import hmac256, same_code

# RFC 4231, 4.2 to 4.8: key, data, HMAC-SHA-256. Case 5 shows only the first 128 bits.
RFC4231 = {
    1: (
        b"\x0b" * 20,
        b"Hi There",
        "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7",
    ),
    2: (
        b"Jefe",
        b"what do ya want for nothing?",
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
    ),
    3: (
        b"\xaa" * 20,
        b"\xdd" * 50,
        "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe",
    ),
    4: (
        bytes(range(1, 26)),
        b"\xcd" * 50,
        "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b",
    ),
    5: (b"\x0c" * 20, b"Test With Truncation", "a3b6167473100ee06e0c796c2955552b"),
    6: (
        b"\xaa" * 131,
        b"Test Using Larger Than Block-Size Key - Hash Key First",
        "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54",
    ),
    7: (
        b"\xaa" * 131,
        b"This is a test using a larger than block-size key and a larger than block-size data. "
        b"The key needs to be hashed before being used by the HMAC algorithm.",
        "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2",
    ),
}

PROGRAM = """
import sys
from binascii import hexlify, unhexlify
from rockwire.hmac256 import hmac256, same_code
for line in sys.stdin:
    key, message, near = [unhexlify(part) for part in line.strip().split(",")]
    code = hmac256(key, message)
    print(hexlify(code).decode(), same_code(code, code), same_code(near, code))
"""


@pytest.mark.parametrize("case", RFC4231)
def test_rfc_4231(case: int) -> None:
    key, message, code = RFC4231[case]
    assert hmac256(key, message).hex()[: len(code)] == code


def test_both_interpreters_agree_with_the_standard_library() -> None:
    seeded = random.Random(4231)
    lines, expected = [], []
    for size in [*range(60, 70), *range(0, 200, 7)]:
        key, message = seeded.randbytes(size), seeded.randbytes(seeded.randrange(150))
        code = hmac.new(key, message, hashlib.sha256).digest()
        near = bytearray(code)
        near[seeded.randrange(32)] ^= 1 << seeded.randrange(8)
        lines.append(f"{key.hex()},{message.hex()},{near.hex()}")
        expected.append(f"{code.hex()} True False")
    board, host = run_on_both(PROGRAM, lines)
    assert board == expected
    assert host == expected


def test_a_code_with_any_one_bit_changed_is_another_code() -> None:
    code = hmac256(b"key", b"message")
    assert same_code(code, bytes(code))
    for bit in range(256):
        changed = bytearray(code)
        changed[bit // 8] ^= 1 << bit % 8
        assert not same_code(bytes(changed), code)


@pytest.mark.parametrize("got", [b"", b"\x00", bytes(31), bytes(33)])
def test_a_code_of_another_length_is_another_code(got: bytes) -> None:
    assert not same_code(got, bytes(32))
