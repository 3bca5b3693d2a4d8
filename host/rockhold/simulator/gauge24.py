"""A gauge's counts as the edges of its 24-bit clocked word.

Timings are those of real gauges in the logic-analyser recordings of the public-domain sigrok-dumps
collection: clock low 130 µs, high 55 µs, 260 µs of rest after every fourth bit, data changing while
the clock is low.
"""

from collections.abc import Iterator

BITS = 24
_LOW_US = 130
_HIGH_US = 55
_REST_US = 260  # instead of the high time, after each fourth bit
_NEGATIVE = 1 << 20
_INCH = 1 << 23

CLOCK = 2

Edge = tuple[int, int]  # time in µs, levels: bit 0 data, bit 1 clock


def word_of(count: int, inch: bool) -> int:
    """Return the 24-bit word of a count; raises ValueError when it has more than 16 bits."""
    if abs(count) > 0xFFFF:
        raise ValueError(f"a count of {count} does not fit the gauge's 16 bits")
    return abs(count) | (_NEGATIVE if count < 0 else 0) | (_INCH if inch else 0)


def edges_of(t_us: int, word: int) -> Iterator[Edge]:
    """Yield the clock edges of one word, the first of them at `t_us`."""
    for bit in range(BITS):
        data = word >> bit & 1
        yield t_us, data
        t_us += _LOW_US
        yield t_us, data | CLOCK
        t_us += _REST_US if bit % 4 == 3 else _HIGH_US
