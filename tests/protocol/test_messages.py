"""Messages, words and units against the tables of protocol/README.md, read from its text."""

import re
import struct

import pytest

from rockwire import messages as m
from rockwire import units, upkeep, wire, words
from support import DRAWN, PROTOCOL

TEXT = " ".join((PROTOCOL / "README.md").read_text(encoding="utf-8").split())
ROWS = re.findall(
    r"\| ([0-9A-F]{2}) \| (\w+) \| (.*?) \|(?= \||$| [A-Z])", TEXT[: TEXT.index("### 1.9")]
)
SIZE = re.compile(r" (\d+)(?: signed)?$|^first (\d+) bytes of")
FREE = ("name", "data")  # of any length, behind one byte that says how long
KINDS = {kind: layout[0] for kind, layout in (wire._LAYOUTS | upkeep.LAYOUTS).items()}
KINDS |= {wire.GUARDED: m.Guarded, wire.READINGS: m.Readings, wire.EXTREMES: m.Extremes}
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
    assert {int(kind, 16) for kind, _, _ in ROWS} == set(KINDS)


def test_each_message_is_drawn_where_tests_take_messages_at_random():
    assert set(KINDS.values()) == DRAWN


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


N16 = bytes(range(16))
# Bytes laid out by the table's row, and what each is called where it is used.
FIELDS = [
    (m.Hello, "<H", {"request": 1}),
    (m.Start, "<H16sQ", {"request": 1, "nonce": N16, "host_utc_us": 2}),
    (m.Stop, "<H", {"request": 1}),
    (m.Ack, "<4sI", {"nonce_start": N16[:4], "next_number": 2}),
    (m.Resume, "<H16sI", {"request": 1, "nonce": N16, "next_number": 2}),
    (m.Clock, "<HQ", {"request": 1, "host_us": 2}),
    (m.Status, "<H", {"request": 1}),
    (m.Button, "<HB", {"request": 1, "tells": 2}),
    (m.Done, "<HB", {"request": 1, "result": 2}),
    (m.ClockReply, "<HQQ", {"request": 1, "host_us": 2, "board_us": 3}),
    (m.Stale, "<HQ", {"request": 1, "counter": 2}),
    (m.Event, "<BBQq", {"code": 1, "source": 2, "t_us": 3, "value": -4}),
    (m.Dropped, "<BIQQ", {"source": 1, "readings": 2, "first_us": 3, "last_us": 4}),
    (m.Close, "<QB", {"t_us": 1, "reason": 2}),
    (m.Seal, "<32s64s", {"public_key": N16 * 2, "signature": N16 * 4}),
    (upkeep.Captures, "<HH", {"request": 1, "index": 2}),
    (upkeep.GetSettings, "<HH", {"request": 1, "offset": 2}),
    (upkeep.Probe, "<HB", {"request": 1, "source": 2}),
    (upkeep.Health, "<H", {"request": 1}),
    (upkeep.Holds, "<HB", {"request": 1, "index": 2}),
    (upkeep.Leave, "<H", {"request": 1}),
]
LONG_FIELDS = [
    (m.Open, "<16s8sQQ3sB", "nonce board_id t_us host_utc_us firmware origin"),
    (m.StatusReply, "<HBQIIIHI",
     "request state t_us frames waiting dropped battery_mv free_bytes"),
    (upkeep.CaptureReply, "<HHH16sIIB", "request captures index nonce first next_number flags"),
    (upkeep.HoldsReply, "<HBBbiiBBQQii",
     "request unit mantissa exponent minimum maximum holds index start_us end_us low high"),
]  # fmt: skip
WITH_TEXT = [
    (m.Ident, "<HB3s8s32sB16sI",
     "request version firmware board_id public_key state nonce frames name"),
    (m.Source, "<BB", "source kind name"),
    (upkeep.PutSettings, "<HHH", "request total offset data"),
    (upkeep.SettingsPart, "<HHH", "request total offset data"),
    (upkeep.Told, "<HB", "request result data"),
    (upkeep.ProbeReply, "<HBBIIIIiBBb",
     "request source kind readings age_ms period_us troubles count unit mantissa exponent name"),
    (upkeep.HealthReply, "<HBIIIIHHBH",
     "request settings heap_used heap_free flash_size flash_free unfetched fetched cause"
     " battery_mv data"),
]  # fmt: skip


def values_for(layout):
    """Return a value for each field of a layout: numbers 1, 2, 3 ..., or as many bytes."""
    kinds = re.findall(r"(\d+)s|([BbHIiQq])", layout)
    return [N16 * 2 if n == "32" else N16[: int(n)] if n else at for at, (n, _) in
            enumerate(kinds, start=1)]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "layout", "fields"), FIELDS, ids=[row[0].__name__ for row in FIELDS]
)
def test_each_field_has_its_place(kind, layout, fields):
    payload = struct.pack(layout, *fields.values())
    found = wire.decode(wire.type_of(kind(*fields.values())), payload)
    assert {name: getattr(found, name) for name in fields} == fields
    assert len(found) == len(fields)


@pytest.mark.parametrize(("kind", "layout", "names"), [*LONG_FIELDS, *WITH_TEXT])
def test_each_field_of_the_long_ones_has_its_place(kind, layout, names):
    names, values = names.split(), values_for(layout)
    payload = struct.pack(layout, *values)
    if names[-1] in FREE:
        payload += b"\3abc"
        values.append("abc" if names[-1] == "name" else b"abc")
    found = wire.decode(wire.type_of(kind(*values)), payload)
    assert [getattr(found, name) for name in names] == values
    assert len(found) == len(values)


def test_readings_extremes_and_wrapped_commands_by_their_names():
    scale = units.HALF_THOU
    readings = wire.decode(0x82, wire.encode(m.Readings(1, scale, (5, 6), (7, 8))))
    assert (readings.source, readings.scale, readings.t_us, readings.count) == (
        (1, scale, (5, 6), (7, 8))
    )
    assert (scale.unit, scale.mantissa, scale.exponent) == (2, 5, -4)
    payload = struct.pack("<BBBbiQiQI", 1, 2, 5, -4, -7, 11, 9, 12, 3)
    found = wire.decode(0x85, payload)
    assert (found.source, found.scale, found.readings) == (1, scale, 3)
    assert (found.minimum, found.minimum_us) == (-7, 11)
    assert (found.maximum, found.maximum_us) == (9, 12)
    wrapped = wire.decode(0x08, struct.pack("<QB", 5, 3) + b"\x09\0" + N16)
    assert (wrapped.counter, wrapped.type, wrapped.payload, wrapped.mac) == (5, 3, b"\x09\0", N16)


def test_the_sizes_of_the_specification():
    sizes = (m.NONCE_SIZE, m.BOARD_ID_SIZE, m.KEY_SIZE, m.MAC_SIZE, m.NAME_SIZE)
    assert sizes == (16, 8, 32, 16, 24)
    assert m.PROTOCOL_VERSION == 1
