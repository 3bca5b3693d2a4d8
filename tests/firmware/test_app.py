"""The program's rounds: what it does with what the hardware holds."""

import json
import time
from types import SimpleNamespace

import pytest

from notebook import Notebook
from rockboard.app import App
from rockboard.boards.pins import PINS
from rockboard.build import build
from rockboard.sources.clocked24 import Clocked24
from rockhold.simulator.gauge24 import edges_of, word_of
from rockwire import upkeep as u


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


class PickyPorts:
    """A chip that refuses some pins, as chips do, with an error of its own."""

    def __init__(self, error):
        self.roles = PINS["pico_w"]
        self.clock = SimpleNamespace(now_us=lambda: 0)
        self.links = [SimpleNamespace(guard=None)]
        self.radio = None
        self.error = error
        self.held = []
        self.lamp_green = self.lamp_red = self.beep = lambda level: None

    def edges(self, data, clock, inverted, source):
        """Take the pins, or refuse them."""
        self.held.append((data, clock))
        return SimpleNamespace(drain=lambda: None)

    def uart(self, rx, *more):
        """Refuse."""
        raise self.error

    def release(self):
        """Let go."""
        self.held.clear()


@pytest.mark.parametrize(
    "error", [ValueError("bad RX pin"), OSError(19), MemoryError("no room"), IndexError("pin")]
)
def test_settings_that_the_chip_refuses_leave_a_board_that_runs_and_says_so(tmp_path, error):
    sources = [{"kind": "bcd52"}, {"kind": "ascii_line", "pins": {"rx": 2, "tx": 3}}]
    sources[0]["pins"] = {"data": 20, "clock": 21, "request": 22}
    (tmp_path / "settings.json").write_text(json.dumps({"name": "bay 3", "sources": sources}))
    ports = PickyPorts(error)
    ports.request = lambda pin: lambda level: None
    app = build(ports, bytearray(4_096), f"{tmp_path}/", "")
    desk = app._desk
    assert desk.settings_state == 2
    assert desk.problem == f"the chip does not take these sources: {error}"
    assert [name for _, name in desk.session.names] == ["indicator"]
    assert ports.held == [(ports.roles["gauge_data"], ports.roles["gauge_clock"])]


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


@pytest.mark.parametrize("refuses", ["active", "gatts_register_services"])
def test_a_radio_that_does_not_answer_leaves_a_board_that_says_so(tmp_path, monkeypatch, refuses):
    # What MicroPython raised on an emulated Pico W, where no radio chip answers: OSError(22).
    def refuse(*arguments, **options):
        raise OSError(22)

    monkeypatch.setattr(time, "ticks_ms", lambda: 0, raising=False)  # MicroPython's
    stack = SimpleNamespace(**{name: lambda *a, **o: None for name in ("active", "config", "irq")})
    setattr(stack, refuses, refuse)
    ports = PickyPorts(None)
    ports.radio = SimpleNamespace(BLE=lambda: stack, UUID=lambda text: text), 1
    ports.battery_mv, ports.cause = lambda: 0, 1
    (tmp_path / "radio.key").write_bytes(bytes(32))
    app = build(ports, bytearray(4_096), f"{tmp_path}/", "")
    health = app._desk.answer(u.Health(7), True)
    assert health.data == b"the radio does not start: 22"
    assert len(ports.links) == 1
