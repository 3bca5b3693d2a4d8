"""SHA-512 in pure Python, for boards whose hashlib stops at SHA-256.

Ed25519 is defined over SHA-512. A word is one integer of 64 bits: MicroPython keeps every integer
above 30 bits as a heap object whatever its length, so narrower limbs would cost more objects, not
fewer. The number of steps depends on the length of the message alone, never on its bytes.

Source: FIPS 180-4, sections 4.1.3, 4.2.3, 5.1.2, 5.3.5 and 6.4.
"""

from binascii import a2b_base64

_MASK = 0xFFFFFFFFFFFFFFFF
# Times this, a word stands twice in a row; a rotation is then one shift of the pair.
_TWICE = 0x10000000000000001

_START = (
    0x6A09E667F3BCC908,
    0xBB67AE8584CAA73B,
    0x3C6EF372FE94F82B,
    0xA54FF53A5F1D36F1,
    0x510E527FADE682D1,
    0x9B05688C2B3E6C1F,
    0x1F83D9ABFB41BD6B,
    0x5BE0CD19137E2179,
)

# The 80 round constants, 8 bytes each: one bytes object takes a quarter of the room that 80
# integers take on a board. They are the first 64 bits of the fractions of the cube roots of the
# first 80 primes (FIPS 180-4, 4.2.3); a test works them out again.
_ROUND_KEYS = a2b_base64(
    b"QoovmNcoriJxN0SRI+9lzbXA+8/sTTsv6bXbpYGJ27w5VsJb80i1OFnxEfG2BdAZkj+CpK8ZT5urHF7V"
    b"2m2BGNgHqpijAwJCEoNbAUVwb74kMYW+TuSyjFUMfcPV/7Ticr5ddPJ7iW+A3rH+OxaWsZvcBqclxxI1"
    b"wZvxdM9pJpTkm2nBnvFK0u++R4Y4TyXjD8GdxouM1bUkDKHMd6ycZS3pLG9ZKwJ1SnSEqm6m5INcsKnc"
    b"vUH71Hb5iNqDEVO1mD5RUu5m36uoMcZtLbQyELADJ8iY+yE/v1l/x77vDuTG4AvzPaiPwtWnkUeTCqcl"
    b"BspjUeADgm8UKSlnCg5ucCe3CoVG0i/8LhshOFwmySZNLG38WsQq7VM4DROdlbPfZQpzVIuvY952agq7"
    b"PHeyqIHCyS5H7a7mknIshRSCNTuiv+ihTPEDZKgaZku8QjABwkuLcND4l5HHbFGjBlS+MNGS6BnW71IY"
    b"1pkGJFVlqRD0DjWFV3EgKhBqoHAyu9G4GaTBFrjS0MgeN2wIUUGrUydId0zfjuuZNLC8teGbSKg5HAyz"
    b"xclaY07YqkrjQYrLW5zKT3dj43NoLm/z1rK4o3SPgu5d77L8eKVjb0MXL2CEyHgUofCrcozHAggaZDns"
    b"kL7/+iNjHiikUGzr3oK96b75o/eyxnkVxnF48uNyUyvKJz7O6iZhnNGGuMchwMIH6tp91s3g6x71fU9/"
    b"7m7ReAbwZ6pyF2+6CmN9xaLImKYRP5gEvvkNrhtxCzUTHEcbKNt39SMEfYQyyqt7QMckkzyevgoVyb68"
    b"Qx1nxJwQDUxMxdS+yz5Ctll/KZz8ZX4qX8tvqzrW+uxsRBmMSkdYFw=="
)


def sha512(message: bytes) -> bytes:
    """Return the 64-byte SHA-512 digest of a message.

    Args:
        message: The whole message. A padded copy of it is made, so it should be short.

    Source: FIPS 180-4, 5.1.2 and 6.4.
    """
    size = len(message)
    padded = message + b"\x80" + bytes((111 - size) % 128 + 8) + (8 * size).to_bytes(8, "big")
    state: tuple[int, ...] = _START
    for at in range(0, len(padded), 128):
        after = _compress(state, [_word(padded, at + 8 * i) for i in range(16)])
        state = tuple([(x + y) & _MASK for x, y in zip(state, after)])  # noqa: B905
    return b"".join([word.to_bytes(8, "big") for word in state])


def _word(data: bytes, at: int) -> int:
    return int.from_bytes(data[at : at + 8], "big")


def _compress(state: tuple[int, ...], words: list[int]) -> tuple[int, ...]:
    """Return the eight working variables after the 80 rounds over one block of 16 words.

    Words are masked to 64 bits once, where they are stored; what a shifted pair leaves above bit
    63 does no harm until then. `words` is used up: it holds the 16 newest words of the schedule.
    """
    mask, twice, keys, from_bytes = _MASK, _TWICE, _ROUND_KEYS, int.from_bytes
    a, b, c, d, e, f, g, h = state
    bc = b ^ c
    for step in range(80):
        word = words[step & 15]
        if step < 64:
            x = words[(step + 1) & 15]
            y = words[(step + 14) & 15]
            xx = x * twice
            yy = y * twice
            words[step & 15] = (
                word
                + (xx >> 1 ^ xx >> 8 ^ x >> 7)
                + words[(step + 9) & 15]
                + (yy >> 19 ^ yy >> 61 ^ y >> 6)
            ) & mask
        ee = e * twice
        key = from_bytes(keys[8 * step : 8 * step + 8], "big")
        t = h + (ee >> 14 ^ ee >> 18 ^ ee >> 41) + (g ^ e & (f ^ g)) + key + word
        aa = a * twice
        ab = a ^ b
        # The majority of a, b and c; a ^ b of this round is b ^ c of the next.
        majority = b ^ ab & bc
        bc = ab
        h, g, f, e = g, f, e, (d + t) & mask
        d, c, b, a = c, b, a, (t + (aa >> 28 ^ aa >> 34 ^ aa >> 39) + majority) & mask
    return (a, b, c, d, e, f, g, h)
