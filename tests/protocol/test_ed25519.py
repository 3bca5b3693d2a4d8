"""Ed25519 against RFC 8032, a plain version, and the library that the host checks with."""

import random

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

import plain_ed25519 as plain
from interpreters import micropython_command, run_lines, run_on_both
from rockwire import ed25519, ed25519_table
from rockwire.ed25519 import public_key, sign

# RFC 8032, 7.1, tests 1 to 3: secret, public key, message, signature.
RFC8032 = {
    1: (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    2: (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    3: (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
}

PROGRAM = """
import sys
from binascii import hexlify, unhexlify
from rockwire.ed25519 import public_key, sign
for line in sys.stdin:
    secret, message = [unhexlify(part) for part in line.strip().split(",")]
    public = public_key(secret)
    print(hexlify(public).decode(), hexlify(sign(secret, message, public)).decode())
"""


@pytest.mark.parametrize("case", RFC8032)
def test_rfc_8032(case: int) -> None:
    secret, public, message, signature = (bytes.fromhex(text) for text in RFC8032[case])
    assert public_key(secret) == public
    assert sign(secret, message, public) == signature
    assert sign(secret, message) == signature


def test_both_interpreters_agree_with_the_library() -> None:
    seeded = random.Random(8032)
    cases = [
        (seeded.randbytes(32), seeded.randbytes(size)) for size in [*range(20), *range(20, 400, 3)]
    ]
    cases += [(bytes(32), b""), (b"\xff" * 32, bytes(64))]
    expected = []
    for secret, message in cases:
        key = Ed25519PrivateKey.from_private_bytes(secret)
        expected.append(f"{key.public_key().public_bytes_raw().hex()} {key.sign(message).hex()}")
    board, host = run_on_both(PROGRAM, [f"{s.hex()},{m.hex()}" for s, m in cases])
    assert board == expected
    assert host == expected


def test_wide_agreement_with_the_library() -> None:
    seeded = random.Random(25519)
    for _ in range(400):
        secret, message = seeded.randbytes(32), seeded.randbytes(seeded.randrange(120))
        key = Ed25519PrivateKey.from_private_bytes(secret)
        public = public_key(secret)
        assert public == key.public_key().public_bytes_raw()
        signature = sign(secret, message, public)
        assert signature == key.sign(message)
        Ed25519PublicKey.from_public_bytes(public).verify(signature, message)


def test_plain_version_is_right_too() -> None:
    # The plain version vouches for the table; so it must pass the RFC's tests by itself.
    for secret, public, message, signature in RFC8032.values():
        assert plain.public_key(bytes.fromhex(secret)).hex() == public
        assert plain.sign(bytes.fromhex(secret), bytes.fromhex(message)).hex() == signature


def test_table_worked_out_anew() -> None:
    table = plain.comb_table(ed25519_table.TEETH, ed25519_table.BLOCKS, ed25519_table.SPAN)
    assert table == ed25519_table._TEXT


# Both ends of the range, numbers of one bit, all bits, and the neighbours of the order of B,
# where odd and even factors are treated differently.
FACTORS = [0, 1, 2, 3, 7, 8, plain.ORDER - 2, plain.ORDER - 1, plain.ORDER, plain.ORDER + 1]
FACTORS += [1 << bit for bit in range(0, 256, 15)] + [(1 << 252) - 1, (1 << 255) - 1]


@pytest.mark.parametrize("factor", FACTORS)
def test_multiples_at_the_edges(factor: int) -> None:
    assert ed25519._times_base(factor) == plain.encode(plain.times(factor, plain.base_point()))


def test_folding_and_inverse() -> None:
    # Also as large, and as far below zero, as the largest product of the formulas (555 bits).
    seeded = random.Random(19)
    for bits in [0, 1, 8, 254, 255, 256, 300, 511, 512, 516, 555] * 20:
        number = seeded.getrandbits(bits) * seeded.choice((1, -1))
        short = ed25519._fold(ed25519._fold(number))
        assert (short - number) % plain.P == 0
        assert -(1 << 64) < short < (1 << 256)
        assert ed25519._inverse(short) * number % plain.P == (1 if number % plain.P else 0)


def test_same_products_whatever_the_factor(monkeypatch: pytest.MonkeyPatch) -> None:
    # The number of products must not tell anything about the secret, nor may they grow.
    fold, sizes = ed25519._fold, []

    def counted(product: int) -> int:
        sizes.append(product.bit_length())
        return fold(product)

    monkeypatch.setattr(ed25519, "_fold", counted)
    counts = set()
    for factor in FACTORS:
        sizes.clear()
        ed25519._times_base(factor)
        counts.add(len(sizes))
        assert max(sizes) <= 555
    assert len(counts) == 1


@pytest.mark.parametrize("size", [0, 31, 33, 64])
def test_wrong_lengths_are_named(size: int) -> None:
    with pytest.raises(ValueError, match=f"a secret has 32 bytes, not {size}"):
        public_key(bytes(size))
    with pytest.raises(ValueError, match=f"a secret has 32 bytes, not {size}"):
        sign(bytes(size), b"")
    with pytest.raises(ValueError, match=f"a public key has 32 bytes, not {size}"):
        sign(bytes(32), b"", bytes(size))


def test_runs_in_a_small_heap() -> None:
    # The goal is 24 KB on a 32-bit board; here every pointer, so nearly every object, is twice
    # as large, and the program's text is compiled on the spot, which a board need not do.
    secret, public, message, signature = RFC8032[2]
    printed = run_lines(micropython_command("64k"), PROGRAM, [f"{secret},{message}"])
    assert printed == [f"{public} {signature}"]
