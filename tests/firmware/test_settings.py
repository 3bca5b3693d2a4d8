import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockboard import settings
from rockboard.boards.pins import PINS, ROLES
from rockboard.sources import module_of
from rockboard.sources.motion import PARTS
from rockboard.sources.table import KINDS, TABLE
from rockwire import messages as m

ROLES_OF = PINS["pico_w"]
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
            "sources[0].kind: must be one of clocked24, bcd52, ascii_line, bridge24, motion",
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
