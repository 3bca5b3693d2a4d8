"""Ed25519 as the RFC writes it down, slow and short, to hold the board's quick version against.

Shares no line with the product. The hash comes from hashlib, points are affine, every addition
divides, and a multiple is found by doubling and adding bit after bit.

Source: RFC 8032, sections 5.1.1 to 5.1.6.
"""

import base64
import hashlib
from functools import cache

P = 2**255 - 19
D = -121665 * pow(121666, -1, P) % P
ORDER = 2**252 + 27742317777372353535851937790883648493
NEUTRAL = (0, 1)

Point = tuple[int, int]


def add(one: Point, other: Point) -> Point:
    """Return the sum of two points (RFC 8032, 5.1.4, the affine formulas)."""
    (x1, y1), (x2, y2) = one, other
    cross = D * x1 * x2 * y1 * y2
    x = (x1 * y2 + x2 * y1) * pow(1 + cross, -1, P) % P
    y = (y1 * y2 + x1 * x2) * pow(1 - cross, -1, P) % P
    return x, y


def times(factor: int, point: Point) -> Point:
    """Return a multiple of a point; a negative factor gives the multiple of its opposite."""
    if factor < 0:
        factor, point = -factor, (-point[0] % P, point[1])
    total = NEUTRAL
    while factor:
        if factor & 1:
            total = add(total, point)
        point = add(point, point)
        factor >>= 1
    return total


@cache
def base_point() -> Point:
    """Return B: y is 4/5 and x the even one of the two roots (RFC 8032, 5.1)."""
    y = 4 * pow(5, -1, P) % P
    square = (y * y - 1) * pow(D * y * y + 1, -1, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * pow(2, (P - 1) // 4, P) % P
    return (x if x % 2 == 0 else P - x), y


def encode(point: Point) -> bytes:
    """Return the 32 bytes of a point (RFC 8032, 5.1.2)."""
    x, y = point
    return (y | (x & 1) << 255).to_bytes(32, "little")


def public_key(secret: bytes) -> bytes:
    """Return the public key of a 32-byte secret (RFC 8032, 5.1.5)."""
    return encode(times(_clamped(secret), base_point()))


def sign(secret: bytes, message: bytes) -> bytes:
    """Return the 64-byte signature (RFC 8032, 5.1.6)."""
    public = public_key(secret)
    r = _hash(hashlib.sha512(secret).digest()[32:] + message)
    point = encode(times(r, base_point()))
    s = (r + _hash(point + public + message) * _clamped(secret)) % ORDER
    return point + s.to_bytes(32, "little")


def _hash(data: bytes) -> int:
    return int.from_bytes(hashlib.sha512(data).digest(), "little") % ORDER


def _clamped(secret: bytes) -> int:
    low = int.from_bytes(hashlib.sha512(secret).digest()[:32], "little")
    return low & ((1 << 255) - 1) & ~7 | 1 << 254


def comb_table(teeth: int, blocks: int, span: int) -> bytes:
    """Return the table of the board's comb, worked out anew, as base64 text.

    Entry `index` of block `block` is the sum of the teeth; tooth m is 2**(m*blocks*span +
    block*span) times B, added when bit m of the index is set and subtracted when not; the last
    tooth is always added. An entry is y+x, y-x and 2dxy, 32 bytes each, little-endian.
    """
    text = b""
    for block in range(blocks):
        for index in range(1 << (teeth - 1)):
            signs = [1 if index >> tooth & 1 else -1 for tooth in range(teeth - 1)] + [1]
            factor = sum(
                sign << (tooth * blocks * span + block * span) for tooth, sign in enumerate(signs)
            )
            x, y = times(factor % ORDER, base_point())
            values = ((y + x) % P, (y - x) % P, 2 * D * x * y % P)
            text += base64.b64encode(b"".join(v.to_bytes(32, "little") for v in values))
    return text
