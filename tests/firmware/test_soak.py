"""Half a minute of what `make soak` runs for an hour."""

import re
from pathlib import Path

import pytest

from support import micropython, needs_micropython

RUNNER = Path(__file__).with_name("run_soak.py")
pytestmark = needs_micropython


def numbers(said, row):
    line = next(line for line in said.splitlines() if line.startswith(row))
    return [int(number) for number in re.findall(r"\d+", line)]


@pytest.mark.parametrize("options", [("30",), ("25", "alone")])
def test_erases_of_400_ms_lose_nothing_and_shift_no_stamp(options):
    said = micropython(RUNNER, *options)
    for row in ("gauge", "line a", "line b", "bridge"):
        sent, got, missing, worst_us = numbers(said, row)
        assert missing == 0, said
        assert worst_us <= 1, said
        assert sent - got <= 80  # what the last erase left in the rings
    assert numbers(said, "dropped") == [0, 0, 0], said
    erases, _, _ = numbers(said, "erases")
    assert erases > 5
    _, _, rate = numbers(said, "seconds")
    assert rate >= 440, said  # the first two seconds are silent


def test_the_heap_stays_small_and_does_not_grow():
    said = micropython(RUNNER, "60")
    _, bits = numbers(said, "heap of the code")
    peak, _ = numbers(said, "heap peak")
    first, last, *_ = numbers(said, "heap live")
    # Boards have 32 bits. What the interpreter takes for a reference counts as one, and may keep
    # some KB of garbage for a while.
    assert peak < (110_000 if bits == 32 else 142_000), said
    assert last - first < 8_000, said
