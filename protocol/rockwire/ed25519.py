"""Ed25519 keys and signatures in pure Python, quick enough for a board without a bignum unit.

    public key  A = s*B            s: clamped first half of SHA-512(secret)
    signature   R = r*B, S = r + k*s   r from the second half and the message, k from R, A, message

Only multiples of the base point B are needed, so a comb over a stored table (ed25519_table.py)
takes 26 doublings and 52 additions where doubling and adding bit by bit takes about 255 and 128.

What does not depend on the secret: the number and order of additions, doublings, products and
hash rounds. What does: which table entry is read, and the running time of MicroPython's integers,
which drop leading zeros. So this is not constant time in the strict sense, and must not sign for a
stranger who can measure the board's current or time each signature finely. Signatures are
deterministic, hence no random source can spoil them.

An RP2040 at 125 MHz signs 72 bytes in 0.37 s: four blocks of SHA-512 at 42 ms and one comb at
173 ms (MicroPython 1.28 on an emulated chip, which leaves out waits for flash).

The board only signs. Checking a signature is the host's work, with a library kept for it.

Source: RFC 8032, section 5.1; comb with digits +1 and -1 after Hamburg, "Fast and compact
elliptic-curve cryptography" (IACR ePrint 2012/309); formulas after Hisil, Wong, Carter and Dawson,
"Twisted Edwards curves revisited" (IACR ePrint 2008/522). Both papers from memory; what vouches
for the arithmetic is its agreement with the RFC, a plain version and the host's library.
"""

from rockwire.ed25519_table import BLOCKS, SPAN, TEETH, entry
from rockwire.sha512 import sha512

_P = (1 << 255) - 19
_LOW_255 = (1 << 255) - 1
_ORDER = (1 << 252) + 27742317777372353535851937790883648493
_DIGITS = TEETH * BLOCKS * SPAN


def public_key(secret: bytes) -> bytes:
    """Return the 32-byte public key of a secret.

    Args:
        secret: 32 random bytes.

    Raises:
        ValueError: If the secret is not 32 bytes long.

    Source: RFC 8032, 5.1.5.
    """
    return _times_base(_expand(secret)[0])


def sign(secret: bytes, message: bytes, public: bytes | None = None) -> bytes:
    """Return the 64-byte signature of a message.

    Args:
        secret: 32 random bytes.
        message: What is signed; it is hashed twice, so keep it short.
        public: The public key of this very secret, if at hand; saves working it out. It must
            never come from outside: a signature made with a wrong one gives the secret away.

    Raises:
        ValueError: If the secret or the public key is not 32 bytes long.

    Source: RFC 8032, 5.1.6.
    """
    factor, prefix = _expand(secret)
    if public is None:
        public = _times_base(factor)
    elif len(public) != 32:
        raise ValueError("a public key has 32 bytes, not %d" % len(public))
    r = _number(sha512(prefix + message)) % _ORDER
    point = _times_base(r)
    k = _number(sha512(point + public + message)) % _ORDER
    return point + ((r + k * factor) % _ORDER).to_bytes(32, "little")


def _expand(secret: bytes) -> tuple[int, bytes]:
    """Return the secret factor, clamped, and the prefix that makes signatures deterministic."""
    if len(secret) != 32:
        raise ValueError("a secret has 32 bytes, not %d" % len(secret))
    digest = sha512(secret)
    factor = _number(digest[:32]) & ((1 << 254) - 8) | 1 << 254
    return factor, digest[32:]


def _number(data: bytes) -> int:
    return int.from_bytes(data, "little")


def _fold(product: int) -> int:
    """Return a shorter number, equal modulo p; a negative one is fine.

    2**255 is 19 modulo p, so what lies above bit 254 is added below, 19 times: no division. Once
    over takes b bits to b - 250, twice over takes every product here (555 bits at most) to 256.
    """
    return (product & _LOW_255) + 19 * (product >> 255)


def _columns(factor: int) -> bytes:
    """Return one byte for each column of the comb, from the lowest; bit m is the digit of row m.

    An odd factor is a sum of digits +1 and -1 of every power of two: digit i is +1 where bit i of
    (factor + 2**digits - 1) / 2 is set. An even factor is made odd with the order of B, which
    adds nothing to the point.
    """
    factor %= _ORDER
    if not factor & 1:
        factor += _ORDER
    bits = ((factor + (1 << _DIGITS) - 1) >> 1).to_bytes((_DIGITS + 7) // 8, "little")
    columns = bytearray(BLOCKS * SPAN)
    for column in range(len(columns)):
        picked = 0
        for row in range(TEETH):
            at = row * len(columns) + column
            picked |= (bits[at >> 3] >> (at & 7) & 1) << row
        columns[column] = picked
    return bytes(columns)


def _times_base(factor: int) -> bytes:
    """Return the 32 bytes of the point factor * B.

    The point is held as X, Y, Z and two factors E, H of T: x = X/Z, y = Y/Z, xy = E*H/Z. T is
    multiplied out only where an addition asks for it.
    """
    columns = _columns(factor)
    x, y, z, e, h = 0, 1, 1, 0, 1
    for step in range(SPAN - 1, -1, -1):
        x, y, z, e, h = _doubled(x, y, z)
        for block in range(BLOCKS):
            x, y, z, e, h = _added(x, y, z, _fold(e * h), block, columns[block * SPAN + step])
    inverse = _inverse(z)
    x = x * inverse % _P
    y = y * inverse % _P
    return (y | (x & 1) << 255).to_bytes(32, "little")


def _doubled(x: int, y: int, z: int) -> tuple[int, int, int, int, int]:
    """Return twice a point (Hisil and others, a = -1, all signs turned)."""
    a = _fold(x * x)
    b = _fold(y * y)
    h = a + b
    s = x + y
    e = h - _fold(s * s)
    g = a - b
    f = _fold(2 * z * z) + g
    return _fold(_fold(e * f)), _fold(_fold(g * h)), _fold(_fold(f * g)), e, h


def _added(
    x: int, y: int, z: int, t: int, block: int, column: int
) -> tuple[int, int, int, int, int]:
    """Return a point plus the table's entry for a column (Hisil and others, Z2 = 1).

    A column whose last digit is -1 stands for the opposite of the entry with all digits turned:
    y+x and y-x change places and 2dxy its sign.
    """
    top = column >> (TEETH - 1)
    data = entry(block, (column ^ (top - 1)) & ((1 << (TEETH - 1)) - 1))
    swap = 32 * (1 - top)
    a = _fold((y - x) * _number(data[32 - swap : 64 - swap]))
    b = _fold((y + x) * _number(data[swap : swap + 32]))
    c = _fold(t * _number(data[64:])) * (2 * top - 1)
    e = b - a
    f = 2 * z - c
    g = 2 * z + c
    h = b + a
    return _fold(_fold(e * f)), _fold(_fold(g * h)), _fold(_fold(f * g)), e, h


def _inverse(z: int) -> int:
    """Return 1/z modulo p, as z**(p-2): the same 265 products for every z.

    p-2 is 2**255 - 21: in binary 250 ones and then 01011.
    """
    z2 = _squared(z, 1)
    z9 = _squared(z2, 2, z)
    z11 = _squared(z9, 0, z2)
    ones5 = _squared(z11, 1, z9)
    ones10 = _squared(ones5, 5, ones5)
    ones20 = _squared(ones10, 10, ones10)
    ones40 = _squared(ones20, 20, ones20)
    ones50 = _squared(ones40, 10, ones10)
    ones100 = _squared(ones50, 50, ones50)
    ones200 = _squared(ones100, 100, ones100)
    ones250 = _squared(ones200, 50, ones50)
    return _squared(ones250, 5, z11)


def _squared(z: int, times: int, factor: int = 1) -> int:
    """Return z squared so many times over, then once times a factor."""
    for step in range(times):
        z = _fold(z * z)
        if step & 1:
            z = _fold(z)
    return _fold(_fold(z * factor))
