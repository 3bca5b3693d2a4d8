"""The state machines' programs in an emulator, on edges recorded from real gauges."""

import bisect
import os

import pytest

from notebook import Notebook
from pio_tools import Rp2, run
from rockboard import pio
from rockboard.sources.bridge24 import EXTRA_PULSES
from rockboard.sources.clocked24 import Clocked24
from support import VECTORS
from support_board import SHARED, recording_edges, vector_edges

CLOCK = 3


def levels_at(edges):
    """Return what gives the pins at a time: data on pin 0, clock on CLOCK; both rest high.

    The gauge sets its data line up before the clock falls; recordings name the data level at each
    edge, so it is shown from halfway before the edge on.
    """
    edges = [(0, 3), *edges, (1 << 40, 3)]
    times = [t_us for t_us, _ in edges]

    def pins(clock, driven):
        at = bisect.bisect_right(times, clock) - 1
        (now_us, now), (next_us, following) = edges[at], edges[at + 1]
        data = (following if clock - now_us > next_us - clock else now) & 1
        return data | (now >> 1) << CLOCK

    return pins


def first_word(name):
    """Edges of the first word of a recording that is whole."""
    words, word = [], []
    for edge in vector_edges(name):
        if word and edge[0] - word[-1][0] > 3_000:
            words.append(word)
            word = []
        word.append(edge)
    whole = next(word for word in [*words, word] if len(word) == 48)
    return [(t_us - whole[0][0] + 200, levels) for t_us, levels in whole]


@pytest.mark.parametrize("name", [path.name for path in sorted((VECTORS / "clocked24").glob("*"))])
def test_recorded_edges_come_out_of_the_state_machine_as_they_went_in(name):
    edges = first_word(name)
    got = list(run(pio.edges(Rp2, CLOCK), levels_at(edges), edges[-1][0] + 100))
    # The emulated machine runs at one instruction a microsecond; on a chip it is 125 times faster.
    assert [value for _, value in got] == [levels for _, levels in edges]
    assert all(0 <= got[i][0] - edges[i][0] <= 4 for i in range(48))
    notebooks = Notebook(), Notebook()
    for notebook, seen in zip(notebooks, (edges, got), strict=True):
        source = Clocked24(notebook)
        for t_us, levels in seen:
            source.edge(levels >> 1, levels & 1, t_us)
        source.poll(1_000_000)
    assert [row[1:] for row in notebooks[0].readings] == [row[1:] for row in notebooks[1].readings]
    assert len(notebooks[0].readings) == 1


NOISY = "caliper0mm.sr"  # has spikes of 1 µs, shorter than an instruction is here
WHOLE = (
    sorted(path.name for path in SHARED.glob("*.sr"))
    if "ROCKHOLD_ALL_EDGES" in os.environ
    else [NOISY]
)


def readings_of(edges):
    """Return what the decoder makes of edges: counts, and codes of events."""
    notebook = Notebook()
    source = Clocked24(notebook)
    for t_us, levels in edges:
        source.edge(levels >> 1, levels & 1, t_us)
    source.poll(edges[-1][0] + 100_000)
    return [row[1:] for row in notebook.readings], [row[0] for row in notebook.events]


def closer_together(edges):
    """Return a recording whose rests between words are 5 ms: nothing happens in them."""
    moved, shift_us, last_us = [], edges[0][0] - 200, edges[0][0]
    for t_us, levels in edges:
        shift_us += max(0, t_us - last_us - 5_000)
        last_us = t_us
        moved.append((t_us - shift_us, levels))
    return moved


@pytest.mark.skipif(not SHARED.is_dir(), reason="the whole recordings are not here")
@pytest.mark.parametrize("name", WHOLE)
def test_whole_recordings_read_the_same_through_the_state_machine(name):
    edges = closer_together(recording_edges(SHARED / name))
    got = list(run(pio.edges(Rp2, CLOCK), levels_at(edges), edges[-1][0] + 100))
    assert readings_of(got) == readings_of(edges)
    assert len(readings_of(got)[0]) >= 13
    if name != NOISY:
        assert [value for _, value in got] == [levels for _, levels in edges]


def test_behind_a_level_shifter_that_turns_the_lines_round_the_same_edges_come():
    edges = first_word("shows-5in.txt")
    straight = levels_at(edges)
    turned = lambda clock, driven: straight(clock, driven) ^ (1 | 1 << CLOCK)  # noqa: E731
    got = list(run(pio.edges(Rp2, CLOCK, False), turned, edges[-1][0] + 100))
    assert [value ^ 3 for _, value in got] == [levels for _, levels in edges]


@pytest.mark.parametrize("gain", sorted(EXTRA_PULSES))
@pytest.mark.parametrize("word", [0xA5C3F1, 0x800000, 0x000001])
def test_a_bridge_converter_gets_its_pulses_and_its_word_is_read(gain, word):
    pulses = 24 + EXTRA_PULSES[gain]
    rises, widths = [], []
    state = {"clock": 0, "since": 0, "data": 1, "sent": 0}

    def converter(now, driven):
        """Ready at 50 µs; a bit after each rise, the highest first; high again when done."""
        clock = driven >> 1 & 1
        if clock != state["clock"]:
            if clock:
                rises.append(now)
                sent = state["sent"]
                state["data"] = word >> (23 - sent) & 1 if sent < 24 else 1
                state["sent"] += 1
            else:
                widths.append(now - state["since"])
            state["clock"], state["since"] = clock, now
        elif not rises:
            state["data"] = int(now < 50)
        return state["data"]

    got = list(run(pio.bridge(Rp2, pulses), converter, 300, side_base=1))
    assert [value >> EXTRA_PULSES[gain] & 0xFFFFFF for _, value in got] == [word]
    assert len(rises) == pulses
    assert max(widths) <= 50  # a clock that stays high for 60 µs switches the converter off
