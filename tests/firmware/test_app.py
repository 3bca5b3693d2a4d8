"""The program's rounds: what it does with what the hardware holds."""

from types import SimpleNamespace

from notebook import Notebook
from rockboard.app import App
from rockboard.sources.clocked24 import Clocked24
from rockhold.simulator.gauge24 import edges_of, word_of


class SlowFeed:
    """Hands on the edges that have come; meanwhile time passes, as on a board that tidies its heap.

    Args:
        edges: What comes.
        source: Who gets it.
        clock: Which time passes.
        takes_us: How long handing on takes.
    """

    def __init__(self, edges, source, clock, takes_us):
        self._edges = list(edges)
        self._source = source
        self._clock = clock
        self._takes_us = takes_us

    def drain(self):
        """Hand on what came until now."""
        come = [edge for edge in self._edges if edge[0] <= self._clock.t_us]
        self._edges = self._edges[len(come) :]
        for t_us, levels in come:
            self._source.edge(levels >> 1 & 1, levels & 1, t_us)
        self._clock.t_us += self._takes_us


def test_a_slow_round_in_mid_word_is_not_a_rest_of_the_line():
    notebook = Notebook()
    clock = SimpleNamespace(t_us=0)
    clock.now_us = lambda: clock.t_us
    source = Clocked24(notebook)
    edges = edges_of(1_000, word_of(1234, inch=True))
    feed = SlowFeed(edges, source, clock, takes_us=3_500)  # longer than the rest that ends a word
    link = SimpleNamespace(guard=None)
    ports = SimpleNamespace(clock=clock, links=[link])
    desk = SimpleNamespace(problem="", leaving=False)
    app = App(None, [feed], [source], ports, None, None, desk, None)
    for _ in range(20):
        app.breathe()
        clock.t_us += 500
    assert [count for _, count, _ in notebook.readings] == [1234]
    assert notebook.events == []
