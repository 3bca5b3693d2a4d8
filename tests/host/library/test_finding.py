"""Looking captures up by what people know of them."""

from datetime import date

import pytest

from rockhold.library.adding import write_batch
from rockhold.library.facts import read_facts
from rockhold.library.finding import Wanted, count, find
from rockhold.library.index import open_library
from support_evidence import person
from support_library import base_capture, variant


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def library(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("find")
    base = base_capture(folder / "base.capture")
    loose = base_capture(folder / "loose.capture", end_play_mm=0.25)
    pressed = base_capture(folder / "pressed.capture", misfortunes=["zero_pressed"])
    tool = {"kind": "indicator", "name": "half-thou gauge", "serial": "SN-0042"}
    captures = {
        "a": variant(base, number="R-101", position="axle 1, left"),
        "b": variant(base, number="R-102", opened_utc="2026-04-01T00:00:00Z", tools=[tool]),
        "c": variant(loose, number="R-1_2", signer=person("B. Ortiz", secret=b"ortiz")),
        "d": variant(pressed, number="100%", opened_utc="2026-04-01T23:59:59Z"),
    }
    for name, data in captures.items():
        (folder / name).write_bytes(data)
    where = str(folder / "library.sqlite")
    if request.param == "postgresql":
        where = request.getfixturevalue("postgres").new_database()
    with open_library(where) as library:
        write_batch(library, [read_facts(folder / name, name == "a") for name in captures])
        yield library


@pytest.mark.parametrize(
    ("wanted", "names"),
    [
        (Wanted(), "dbca"),
        (Wanted(vehicle="r-101"), "a"),
        (Wanted(vehicle="R-10*"), "ba"),
        (Wanted(vehicle="R-1_*"), "c"),
        (Wanted(vehicle="100%"), "d"),
        (Wanted(vehicle="%"), ""),
        (Wanted(wheel_end="Axle 1  LEFT"), "a"),
        (Wanted(person="ortiz"), "c"),
        (Wanted(person="miller"), "dba"),
        (Wanted(tool="sn-0042"), "b"),
        (Wanted(tool="half-thou"), "b"),
        (Wanted(verdict="reject"), "c"),
        (Wanted(finding="zero_pressed", until=date(2026, 4, 1)), "d"),
        (Wanted(finding="drifting"), ""),
        (Wanted(since=date(2026, 4, 1)), "db"),
        (Wanted(until=date(2026, 4, 1)), "dbca"),
        (Wanted(until=date(2026, 3, 31)), "ca"),
        (Wanted(review="none"), "dbca"),
        (Wanted(verified=True), "a"),
        (Wanted(state="unsealed"), ""),
    ],
)
def test_what_is_found_newest_first(library, wanted, names):
    found = [entry.columns["path"][-1] for entry in find(library, wanted)]
    assert "".join(found) == names
    assert count(library, wanted) == len(names)


def test_at_most_so_many_and_the_other_way_round(library):
    first = [e.columns["path"][-1] for e in find(library, Wanted(), most=2, oldest_first=True)]
    assert first == ["a", "c"]
