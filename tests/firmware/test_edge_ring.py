from pathlib import Path

from rockboard.clock import WideClock
from rockboard.edge_ring import EdgeRing
from support import micropython, needs_micropython

RUNNER = Path(__file__).with_name("run_ring_allocation.py")


class Source:
    def __init__(self):
        self.edges = []
        self.lost = 0

    def edge(self, level, data, t_us):
        self.edges.append((t_us, level, data))

    def lose_edges(self, number, t_us):
        self.lost += number


def test_hands_on_in_order_and_counts_what_it_cannot_hold():
    ring, source = EdgeRing(4), Source()
    clock = WideClock(lambda: 0)
    for t_us in range(5):
        ring.push(t_us, t_us & 3)
    ring.drain(clock, source)
    assert source.edges == [(0, 0, 0), (1, 0, 1), (2, 1, 0)]
    assert source.lost == 2
    for t_us in range(10, 13):
        ring.push(t_us, 3)
    ring.drain(clock, source)
    assert [edge[0] for edge in source.edges[3:]] == [10, 11, 12]
    assert source.lost == 2


@needs_micropython
def test_the_interrupt_part_allocates_nothing():
    assert micropython(RUNNER).strip() == "allocated 0"
