"""Messages, words and units against the tables of protocol/README.md, read from its text."""

import re

import pytest

from rockwire import messages as m
from rockwire import units, upkeep, wire, words
from support import PROTOCOL

TEXT = " ".join((PROTOCOL / "README.md").read_text(encoding="utf-8").split())
ROWS = re.findall(
    r"\| ([0-9A-F]{2}) \| (\w+) \| (.*?) \|(?= \||$| [A-Z])", TEXT[: TEXT.index("### 1.9")]
)
SIZE = re.compile(r" (\d+)(?: signed)?$|^first (\d+) bytes of")
FREE = ("name", "data")  # of any length, behind one byte that says how long
UNUSUAL = {"82", "08"}  # forms of their own, see test_wire.py


def size_of(payload):
    """Add up the bytes that a row of the table names."""
    without_notes = re.sub(r"\(.*?\)", "", payload)
    parts = [part.strip() for part in without_notes.split(",")]
    sizes = [SIZE.search(part) for part in parts if part not in FREE]
    requests = parts.count("request")
    return 2 * requests + sum(int(found[1] or found[2]) for found in sizes if found)


def listed(start, end):
    """Return {number: word} of a list like "0 done, 1 busy"."""
    part = re.sub(r"\(.*?\)", "", TEXT.split(start, 1)[1].split(end, 1)[0])
    return {
        int(n): word.strip().replace("_", " ") for n, word in re.findall(r"(\d+) ([^,.;]+)", part)
    }


def test_the_table_was_found():
    assert len(ROWS) == 9 + 5 + 8 + 13


@pytest.mark.parametrize(("kind", "name", "payload"), ROWS, ids=[row[1] for row in ROWS])
def test_each_type_is_the_one_of_the_table(kind, name, payload):
    number = int(kind, 16)
    layouts = wire._LAYOUTS | upkeep.LAYOUTS
    message = getattr(m, name, None) or getattr(upkeep, name)
    assert message.__name__ == name
    if kind in UNUSUAL:
        assert wire.type_of(message(*[None] * len(message._fields))) == number
        return
    if name == "Extremes":
        zeros = m.Extremes(0, units.HALF_THOU, *[0] * 5)
        assert (wire.type_of(zeros), len(wire.encode(zeros))) == (number, size_of(payload))
        return
    assert layouts[number][0] is message
    size = wire.struct.calcsize(layouts[number][1])
    assert size == size_of(payload)
    free = [part for part in FREE if re.search(rf"\b{part}\b", re.sub(r"\(.*?\)", "", payload))]
    assert layouts[number][2] == {"": False, "name": True, "data": 2}["".join(free)]


def test_units_are_those_of_the_specification():
    written = listed("*Scale*: what one count is. Unit (1 byte: ", ")") | {0: "1"}
    assert written == units.NAMES
    assert units.HALF_THOU == (units.INCH, 5, -4)
    assert units.HUNDREDTH_MM == (units.MM, 1, -2)


@pytest.mark.parametrize(
    ("told", "start", "end"),
    [
        (words.STATES, "State: ", ". Result"),
        (words.RESULTS, "Result: ", "."),
        (words.ORIGINS, "firmware version 3, origin 1 (", ")"),
        (words.KINDS, "index 1, kind 1 (", ")"),
        (words.REASONS, "Close | time 8, reason 1 (", ")"),
        (words.EVENTS, "Event codes: ", "### 1.4"),
    ],
)
def test_numbers_stand_for_the_words_of_the_specification(told, start, end):
    plain = {number: text.split(":")[0].replace("_", " ") for number, text in told.items()}
    assert plain == listed(start, end)


def test_the_names_in_the_code_have_the_numbers_of_the_specification():
    for table in (words.EVENTS, words.RESULTS, words.STATES):
        for number, text in table.items():
            name = text.split(":")[0].replace(" ", "_").upper()
            assert getattr(m, name) == number
    assert (m.BY_HOST, m.BY_BUTTON, m.ALL_SOURCES) == (0, 1, 255)
    assert (upkeep.FETCHED, upkeep.CLOSED, upkeep.SEALED) == (1, 2, 4)
    assert upkeep.NEVER == 0xFFFFFFFF
