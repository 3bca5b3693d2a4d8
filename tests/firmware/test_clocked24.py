from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notebook import Notebook
from rockboard.sources.clocked24 import Clocked24
from rockhold.simulator.gauge24 import edges_of, word_of
from rockwire import messages as m
from rockwire.units import HALF_THOU, HUNDREDTH_MM
from support import VECTORS, cpython, micropython, needs_micropython

FOLDER = VECTORS / "clocked24"
RUNNER = Path(__file__).with_name("run_clocked24_vectors.py")


def hear(edges, now_us=10_000_000):
    notebook = Notebook()
    source = Clocked24(notebook)
    for t_us, levels in edges:
        source.edge(levels >> 1 & 1, levels & 1, t_us)
    source.poll(now_us)
    return notebook


def expectations():
    lines = []
    for path in sorted(FOLDER.glob("*.txt")):
        rows = path.read_text(encoding="utf-8").splitlines()
        lines += [f"{path.name} {row[8:]}" for row in rows if row.startswith("expect: ")]
    return lines


def test_recorded_edges_on_cpython():
    assert cpython(RUNNER, str(FOLDER)).splitlines() == expectations()
    assert len(expectations()) == 21


@needs_micropython
def test_recorded_edges_on_micropython():
    assert micropython(RUNNER, str(FOLDER)).splitlines() == expectations()


# Derived from the facts in libsigrokdecode's decoder `caliper`: bits 0-15 magnitude, bit 20
# negative, bit 23 inch; mm = raw / 100, inch = raw / 2000.
@pytest.mark.parametrize(
    ("word", "count", "scale"),
    [
        (0x0004D2, 1234, HUNDREDTH_MM),
        (0x80000A, 10, HALF_THOU),
        (0x90000A, -10, HALF_THOU),
        (0x800002, 2, HALF_THOU),
        (0x100000, 0, HUNDREDTH_MM),
    ],
)
def test_words(word, count, scale):
    assert hear(edges_of(5_000, word)).readings == [(5_000, count, scale)]


@given(st.integers(-0xFFFF, 0xFFFF), st.booleans(), st.integers(0, 1 << 50))
def test_every_count_comes_through(count, inch, t_us):
    notebook = hear(edges_of(t_us, word_of(count, inch)), t_us + 500_000)
    assert notebook.readings == [(t_us, count, HALF_THOU if inch else HUNDREDTH_MM)]
    assert notebook.events == []


@given(st.integers(1, 47))
def test_a_word_heard_from_its_middle_is_given_up(missing):
    first = list(edges_of(0, word_of(1234, False)))
    second = list(edges_of(70_000, word_of(1234, False)))
    notebook = hear(first[missing:] + second, 100_000)
    assert notebook.readings in ([(70_000, 1234, HUNDREDTH_MM)], hear(first[1:] + second).readings)
    if missing > 1:
        assert [code for code, _, _ in notebook.events] == [m.FRAME_CUT]


@given(st.sets(st.integers(0, 47), min_size=1, max_size=6))
def test_lost_edges_never_make_a_wrong_reading(lost):
    edges = [e for i, e in enumerate(edges_of(0, word_of(0x5A5A, False))) if i not in lost]
    notebook = hear(edges, 100_000)
    assert {count for _, count, _ in notebook.readings} <= {0x5A5A}


@given(st.integers(0, 46), st.integers(1, 10))
def test_a_spike_costs_the_word(where, width):
    edges = list(edges_of(0, word_of(321, True)))
    t_us, levels = edges[where]
    spike = [(t_us + 20, levels ^ 2), (t_us + 20 + width, levels)]
    notebook = hear(edges[: where + 1] + spike + edges[where + 1 :], 100_000)
    assert notebook.readings == []
    assert [code for code, _, _ in notebook.events] == [m.LINE_NOISE]


def test_flags_that_nobody_described_are_reported_with_the_word():
    notebook = hear(edges_of(0, 0x0104D2), 100_000)
    assert notebook.readings == []
    assert notebook.events == [(m.WORD_UNKNOWN, 0, 0x0104D2)]


def test_silence_and_return():
    notebook = Notebook()
    source = Clocked24(notebook, silent_us=1_000_000)
    source.poll(0)
    source.poll(999_999)
    assert notebook.events == []
    source.poll(1_000_000)
    source.poll(3_000_000)
    for t_us, levels in edges_of(4_000_000, 5):
        source.edge(levels >> 1, levels & 1, t_us)
    source.poll(4_100_000)
    assert notebook.events == [(m.GAUGE_SILENT, 1_000_000, 0), (m.GAUGE_HEARD, 4_000_000, 0)]


def test_edges_lost_on_the_way_cost_their_word():
    notebook = Notebook()
    source = Clocked24(notebook)
    edges = list(edges_of(0, 77))
    for t_us, levels in edges[:20]:
        source.edge(levels >> 1, levels & 1, t_us)
    source.lose_edges(4, 3_000)
    for t_us, levels in edges[20:]:
        source.edge(levels >> 1, levels & 1, t_us)
    source.poll(100_000)
    assert notebook.readings == []
    assert [code for code, _, _ in notebook.events] == [m.EDGES_LOST, m.FRAME_CUT]


@given(st.integers(-0xFFFF, 0xFFFF), st.lists(st.integers(0, 250), min_size=48, max_size=48))
def test_levels_that_an_interrupt_reads_too_late_never_make_a_wrong_reading(count, late_us):
    # Where interrupts take the edges they may run late, and then read what is there by then.
    edges = list(edges_of(1_000, word_of(count, False)))
    read, now_us = [], 0
    for (t_us, _), late in zip(edges, late_us, strict=True):
        now_us = max(now_us, t_us + late)  # in the order of the edges, one after the other
        levels = [levels for begin_us, levels in edges if begin_us <= now_us][-1]
        read.append((now_us, levels))
    assert hear(read).readings in ([], [(read[0][0], count, HUNDREDTH_MM)])
