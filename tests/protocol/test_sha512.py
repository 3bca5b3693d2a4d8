"""SHA-512 against the standard's own examples, its derivation of constants, and hashlib."""

import hashlib
import random
from math import isqrt

import pytest

from interpreters import run_on_both
from rockwire import sha512 as module
from rockwire.sha512 import sha512

# FIPS 180-4 example computations (NIST, "SHA512.pdf"): one block, two blocks; and the empty one.
TWO_BLOCKS = (
    b"abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmn"
    b"hijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu"
)
EXAMPLES = [
    (
        b"abc",
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a"
        "2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
    ),
    (
        TWO_BLOCKS,
        "8e959b75dae313da8cf4f72814fc143f8f7779c6eb9f7fa17299aeadb6889018"
        "501d289e4900f7e4331b99dec4b5433ac7d329eeb6dd26545e96e55b874be909",
    ),
    (
        b"",
        "cf83e1357eefb8bdf1542850d66d8007d620e4050b5715dc83f4a921d36ce9ce"
        "47d0d13c5d85f2b0ff8318d2877eec2f63b931bd47417a81a538327af927da3e",
    ),
]

PROGRAM = """
import sys
from binascii import hexlify, unhexlify
from rockwire.sha512 import sha512
for line in sys.stdin:
    print(hexlify(sha512(unhexlify(line.strip()))).decode())
"""


@pytest.mark.parametrize(("message", "digest"), EXAMPLES, ids=["abc", "two blocks", "empty"])
def test_examples_of_the_standard(message: bytes, digest: str) -> None:
    assert sha512(message).hex() == digest


def test_round_constants_are_fractions_of_cube_roots_of_primes() -> None:
    # FIPS 180-4, 4.2.3; an integer is the cube root asked for when its cube is the last one below.
    primes = [n for n in range(2, 410) if all(n % d for d in range(2, isqrt(n) + 1))]
    assert len(primes) == 80
    for at, prime in enumerate(primes):
        fraction = int.from_bytes(module._ROUND_KEYS[8 * at : 8 * at + 8], "big")
        whole = next(n for n in range(1, 9) if (n + 1) ** 3 > prime)
        root = (whole << 64) + fraction
        assert root**3 <= prime << 192 < (root + 1) ** 3


def test_starting_values_are_fractions_of_square_roots_of_primes() -> None:
    # FIPS 180-4, 5.3.5.
    for start, prime in zip(module._START, (2, 3, 5, 7, 11, 13, 17, 19), strict=True):
        assert start == isqrt(prime << 128) % 2**64


def test_every_length_around_the_padding_on_both_interpreters() -> None:
    # Two blocks hold at most 239 bytes of message; 111/112, 127/128 and 239/240 are the edges.
    seeded = random.Random(512)
    messages = [seeded.randbytes(size) for size in range(261)] + [bytes(240), b"\xff" * 256]
    expected = [hashlib.sha512(message).hexdigest() for message in messages]
    board, host = run_on_both(PROGRAM, [message.hex() for message in messages])
    assert board == expected
    assert host == expected
