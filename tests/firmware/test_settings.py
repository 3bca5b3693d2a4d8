import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockboard import settings
from rockboard.boards.pins import PINS, ROLES
from rockboard.sources import module_of
from rockboard.sources.bridge24 import Bridge24
from rockboard.sources.motion import PARTS
from rockboard.sources.table import KINDS, TABLE
from rockwire import messages as m
from rockwire import units, upkeep
from support import ROOT

ROLES_OF = PINS["pico_w"]
README = (ROOT / "firmware" / "README.md").read_text(encoding="utf-8")
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner),
    max_leaves=8,
)


def problems(data):
    return settings.check(data, ROLES_OF)[1]


def source(**fields):
    return {"sources": [fields]}


def test_nothing_said_gives_an_indicator_on_the_boards_own_pins():
    ready, wrong = settings.check({}, ROLES_OF)
    assert wrong == []
    assert [part["kind"] for part in ready["sources"]] == ["clocked24"]
    assert ready["sources"][0]["pins"] == {"data": 2, "clock": 3}


def test_how_a_boards_settings_stand_is_known_to_the_host():
    states = (settings.STORED, settings.DEFAULTS, settings.REFUSED)
    assert sorted(upkeep.SETTINGS_STATES) == sorted(states)
    assert upkeep.SETTINGS_UNUSABLE == settings.REFUSED


def _told_of(name, default, check, limits):
    """Return setting, default and range of a field as firmware/README.md must tell them."""
    if check == "span":
        may = "[counts, steps]"
    elif check == "flag":
        may = "true, false"
    elif check == "choice":
        may = ", ".join(map(str, limits))
    else:
        may = "{} to {}".format(*limits) + (" bytes" if check in ("text", "pattern") else "")
    return f"`{name}` | {json.dumps(default)} | {may} |"


@pytest.mark.parametrize(
    ("kind", "fields"),
    [("board", settings.FIELDS), *((row.name, row.fields) for row in TABLE)],
)
def test_the_readme_tells_every_setting(kind, fields):
    rows = [row for row in README.splitlines() if row.startswith(f"| {kind} | `")]
    assert len(rows) == len(fields)
    for row, field in zip(rows, fields, strict=True):
        assert row.startswith(f"| {kind} | {_told_of(*field)}")


def test_the_readmes_pattern_and_second_gauge_do_what_it_says():
    parts = module_of("ascii_line").split_pattern("T:{value} {unit} {text}")
    assert "`T:{value} {unit} {text}`" in README
    assert module_of("ascii_line").Reader(parts).read("T:+012.50 N.m ok") == (1250, 2, "N.m")
    second = json.loads(re.search(r'is `(\{"kind": "clocked24".*?\}\})`', README)[1])
    assert problems({"sources": [{"kind": "clocked24"}, second]}) == []


def test_the_readmes_bridge_example_calibrates():
    # A step is 1 / (gain * 2**24) V/V, and the loads are as the check shows them.
    gain, zero_uv, load_uv, zero, span = 128, 0.5746, 233.4054, 1234, [10000, 500000]
    for words in (f"{zero_uv}", f"{load_uv}", f"`zero` of {zero}", f"`span` is {span}"):
        assert words in README
    for of in (128, 64, 32):
        assert f"{of * 2**24 / 1e6:.2f} at {'gain ' if of == gain else ''}{of}" in README
    steps = [round(value * gain * 2**24 / 1e6) for value in (zero_uv, load_uv)]
    assert steps == [zero, zero + span[1]]
    sink = Counts()
    bridge = Bridge24(sink, gain, units.Scale(units.NEWTON_METRE, 1, -2), zero, span)
    for raw in (0, *steps):
        bridge.word(raw, 0)
    assert sink.got == [0, 10_000]  # 100.00 N·m


class Counts:
    """Keeps the counts of readings."""

    def __init__(self):
        self.got = []

    def reading(self, t_us, count, scale):
        self.got.append(count)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_works_with_its_defaults_on_every_board(kind):
    for roles in PINS.values():
        assert settings.check(source(kind=kind), roles)[1] == []


def test_the_table_of_kinds_is_the_wires():
    assert dict(enumerate(KINDS)) == m.KINDS
    assert all(row.channels and callable(module_of(row.name).build) for row in TABLE)


def test_every_motion_part_can_be_chosen_and_no_other():
    fields = {field[0]: field for field in TABLE[KINDS.index("motion")].fields}
    assert fields["part"][3] == tuple(sorted(PARTS))


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({"name": 7}, "name: must be a text of 1 to 24 bytes, is 7"),
        ({"beeper": 1}, "beeper: must be true or false, is 1"),
        ({"hold_ms": 5}, "hold_ms: must be a whole number from 300 to 10000, is 5"),
        ({"colour": "red"}, "colour: no such setting"),
        ({"sources": []}, "sources: must be a list of 1 to 4 sources"),
        (
            source(kind="psychic"),
            "sources[0].kind: must be one of " + ", ".join(KINDS),
        ),
        (
            source(kind="ascii_line", stop=True),
            "sources[0].stop: must be one of 1, 2, is true",
        ),
        (
            source(kind="ascii_line", pattern="x {number}"),
            "sources[0].pattern: 'number' is no field; use {value}, {unit} or {text}, "
            'is "x {number}"',
        ),
        (
            source(kind="ascii_line", pattern="{unit}  "),
            'sources[0].pattern: it needs {value} once, is "{unit}  "',
        ),
        (
            source(kind="bridge24", span=[5, 0]),
            "sources[0].span: must be [counts above 0, converter steps other than 0], "
            "or left out, is [5, 0]",
        ),
        (
            source(kind="clocked24", pins={"dat": 3}),
            "sources[0].pins: may name data, clock",
        ),
        (
            source(kind="clocked24", pins={"data": 3}),
            "sources[0].pins.clock: pin 3 is taken by sources[0].pins.data",
        ),
        ([], "the settings must be one JSON object"),
    ],
)
def test_says_where_and_what(data, sentence):
    assert problems(data) == [sentence]


def test_two_gauges_on_the_same_pins_are_refused():
    both = {"sources": [{"kind": "clocked24"}, {"kind": "bcd52"}]}
    assert problems(both)[0] == ("sources[1].pins.data: pin 2 is taken by sources[0].pins.data")


@given(JSON)
def test_no_json_upsets_it(data):
    settings.check(data, ROLES_OF)
    settings.check({"sources": [data, {"kind": "motion", "pins": data}]}, ROLES_OF)


@given(st.binary(max_size=300))
def test_a_file_of_rubbish_leaves_the_defaults_and_a_sentence(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("flash") / "settings.json"
    path.write_bytes(data)
    ready, state, problem = settings.load(ROLES_OF, str(path))
    assert ready == settings.check({}, ROLES_OF)[0]
    assert state == settings.REFUSED
    assert problem


def test_an_endless_file_is_not_read(tmp_path):
    path = tmp_path / "settings.json"
    path.write_bytes(b" " * (settings.LARGEST + 1))
    assert settings.load(ROLES_OF, str(path))[1:] == (
        settings.REFUSED,
        "the settings file has more than 2048 bytes",
    )


def test_stored_settings_come_back_and_bad_ones_change_nothing(tmp_path):
    path = str(tmp_path / "settings.json")
    assert settings.load(ROLES_OF, path)[1] == settings.DEFAULTS
    text = json.dumps({"name": "bay 3", "sources": [{"kind": "motion", "name": "hub"}]})
    assert settings.store(text, ROLES_OF, path) is None
    assert settings.store('{"name": ""}', ROLES_OF, path) == [
        'name: must be a text of 1 to 24 bytes, is ""'
    ]
    ready, state, problem = settings.load(ROLES_OF, path)
    assert (ready["name"], state, problem) == ("bay 3", settings.STORED, "")


def test_no_board_uses_a_pin_twice_and_all_know_every_role():
    for name, roles in PINS.items():
        assert sorted(roles) == sorted(ROLES), name
        assert len(set(roles.values())) == len(roles), name
