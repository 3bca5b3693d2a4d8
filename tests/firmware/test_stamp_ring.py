from array import array

from rockboard.clock import WideClock
from rockboard.stamp_ring import ByteFeed, EdgeFeed, StampRing, WordFeed


class Dma:
    """Writes as the two channels do."""

    def __init__(self, size=8):
        self.values = array("I", [0] * size)
        self.stamps = array("I", [0] * size)
        self.at = 0
        self.now = 0

    def write(self, value, ticks):
        self.values[self.at] = value
        self.stamps[self.at] = ticks & 0xFFFFFFFF
        self.at = (self.at + 1) % len(self.values)
        self.now = ticks

    @property
    def clock(self):
        return WideClock(lambda: self.now & 0x3FFFFFFF)


def ring_of(dma):
    return StampRing(dma.values, dma.stamps, len(dma.stamps), lambda: dma.at)


def test_hands_on_in_order_with_wide_times_through_many_rounds_and_wraps():
    dma = Dma()
    dma.now = start = (1 << 30) - 500
    clock, ring, got = dma.clock, ring_of(dma), []
    for step in range(100):
        dma.write(step, start + 100 * step)
        if step % 7 == 6:
            assert ring.drain(clock, lambda value, t_us: got.append((value, t_us))) == 0
    assert got == [(step, 100 * step) for step in range(98)]


def test_a_ring_that_went_round_gives_nothing_and_says_so_once():
    dma = Dma()
    clock, ring, got = dma.clock, ring_of(dma), []
    take = lambda value, t_us: got.append(value)  # noqa: E731
    for extra in (0, 1, 5, 8, 9):
        for step in range(8 + extra):
            dma.write(step, dma.now + 10)
        assert ring.drain(clock, take) == 8
        assert ring.drain(clock, take) == 0
        dma.write(77, dma.now + 10)
        assert ring.drain(clock, take) == 0
        assert got.pop() == 77
        assert got == []


def test_seven_of_eight_are_no_overrun():
    dma = Dma()
    clock, ring, got = dma.clock, ring_of(dma), []
    for step in range(7):
        dma.write(step, step + 1)
    assert ring.drain(clock, lambda value, t_us: got.append(value)) == 0
    assert got == list(range(7))


class Listener:
    def __init__(self):
        self.heard = []

    def edge(self, level, data, t_us):
        self.heard.append((level, data, t_us))

    def lose_edges(self, number, t_us):
        self.heard.append(("lost", number))

    def byte(self, value, t_us, damaged):
        self.heard.append((value, t_us, damaged))

    lose_bytes = lose_words = lose_edges

    def word(self, raw, t_us):
        self.heard.append((raw, t_us))


def fed(make, *values):
    dma, listener = Dma(), Listener()
    clock = dma.clock
    feed = make(ring_of(dma), clock, listener)
    for value in values:
        dma.write(value, dma.now + 10)
    feed.drain()
    return listener.heard


def test_edges_pass_the_level_shifter():
    plain = fed(lambda ring, clock, to: EdgeFeed(ring, clock, to, False), 1, 2)
    turned = fed(lambda ring, clock, to: EdgeFeed(ring, clock, to, True), 2, 1)
    assert plain == turned == [(0, 1, 10), (1, 0, 20)]


def test_bytes_carry_the_uarts_complaints():
    assert fed(ByteFeed, 0x41, 0x241) == [(0x41, 10, False), (0x41, 20, True)]


def test_words_lose_the_further_pulses():
    make = lambda ring, clock, to: WordFeed(ring, clock, to, 1)  # noqa: E731
    assert fed(make, 0xA5C3F1 << 1 | 1) == [(0xA5C3F1, 10)]


def test_an_overrun_reaches_the_source():
    for make in (
        ByteFeed,
        lambda r, c, s: WordFeed(r, c, s, 1),
        lambda r, c, s: EdgeFeed(r, c, s, 0),
    ):
        assert fed(make, *range(9)) == [("lost", 8)]
