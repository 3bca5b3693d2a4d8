"""One entry for each content, whatever is added twice, moved, grown, copied or exchanged."""

import threading

import pytest

from rockhold.evidence.countersign import countersign
from rockhold.evidence.verify import verify_bytes
from rockhold.library import adding
from rockhold.library.adding import write_batch
from rockhold.library.facts import read_facts
from rockhold.library.finding import Wanted, count, find
from rockhold.library.index import open_library
from support_evidence import REVIEWER, TRUST
from support_library import base_capture, variant


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    return base_capture(tmp_path_factory.mktemp("base") / "base.capture")


def put(library, *paths):
    return [added.deed for added in write_batch(library, [read_facts(path) for path in paths])]


def paths_in(library):
    return sorted(entry.columns["path"] for entry in find(library, Wanted()))


def test_the_captures_of_these_tests_are_valid(base):
    found = verify_bytes("x", variant(base, number="9"), TRUST)
    assert found.state == "good", found.problems
    assert found.board.header_bound


def test_the_same_file_twice_is_one_entry(library, tmp_path, base):
    path = tmp_path / "a.capture"
    path.write_bytes(variant(base))
    assert put(library, path) == [adding.NEW]
    assert put(library, path, path) == [adding.SAME, adding.SAME]
    assert count(library, Wanted()) == 1


def test_a_moved_file_keeps_its_entry(library, tmp_path, base):
    path, later = tmp_path / "a.capture", tmp_path / "b.capture"
    path.write_bytes(variant(base))
    put(library, path)
    path.rename(later)
    assert put(library, later) == [adding.MOVED]
    assert paths_in(library) == [str(later)]


def test_a_copy_adds_no_entry_and_is_said(library, tmp_path, base):
    path, twin = tmp_path / "a.capture", tmp_path / "b.capture"
    data = variant(base)
    path.write_bytes(data)
    twin.write_bytes(data)
    (one, two) = write_batch(library, [read_facts(path), read_facts(twin)])
    assert (one.deed, two.deed) == (adding.NEW, adding.COPY)
    assert str(path) in two.sentence
    assert put(library, twin) == [adding.COPY]
    assert paths_in(library) == [str(path)]


def test_a_reviewed_capture_has_grown_and_a_rewritten_one_has_changed(library, tmp_path, base):
    path = tmp_path / "a.capture"
    path.write_bytes(variant(base))
    put(library, path)
    countersign(path, REVIEWER, "accept", "clean", TRUST)
    assert put(library, path) == [adding.GROWN]
    (entry,) = find(library, Wanted(review="accept"))
    assert {person["name"] for person in entry.people} == {"A. Miller", "O. Quist"}
    path.write_bytes(variant(base, number="55"))
    assert put(library, path) == [adding.CHANGED]
    assert [entry.columns["vehicle"] for entry in find(library, Wanted())] == ["55"]


def test_a_capture_that_moved_and_grew_keeps_its_entry(library, tmp_path, base):
    path, later = tmp_path / "a.capture", tmp_path / "b.capture"
    path.write_bytes(variant(base))
    put(library, path)
    path.rename(later)
    countersign(later, REVIEWER, "reject", "loose", TRUST)
    assert put(library, later) == [adding.MOVED]
    assert paths_in(library) == [str(later)]


def test_the_same_capture_id_with_other_content_is_said_and_both_stay(library, tmp_path, base):
    path, other = tmp_path / "a.capture", tmp_path / "b.capture"
    path.write_bytes(variant(base, capture="00112233aabbccdd"))
    other.write_bytes(variant(base, capture="00112233aabbccdd", number="55"))
    write_batch(library, [read_facts(path)])
    (added,) = write_batch(library, [read_facts(other)])
    assert added.deed == adding.RIVAL
    assert f"capture id of {path}" in added.sentence
    assert count(library, Wanted(capture="00112233aabbccdd")) == 2


def test_two_files_that_change_names_lose_neither(library, tmp_path, base):
    a, b, aside = tmp_path / "a.capture", tmp_path / "b.capture", tmp_path / "aside"
    a.write_bytes(variant(base, number="1"))
    b.write_bytes(variant(base, number="2", opened_utc="2026-05-01T08:00:00Z"))
    put(library, a, b)
    a.rename(aside)
    b.rename(a)
    aside.rename(b)
    put(library, a, b)
    entries = {e.columns["path"]: e.columns["vehicle"] for e in find(library, Wanted())}
    assert entries == {str(a): "2", str(b): "1"}


def test_damaged_and_unreadable_files_are_listed_and_stop_nothing(library, tmp_path, base):
    good, changed, empty, other = (tmp_path / f"{n}.capture" for n in "abcd")
    data = variant(base)
    good.write_bytes(data)
    changed.write_bytes(data.replace(b'"number":"1207"', b'"number":"1208"'))
    for path in (empty, other):
        path.write_bytes(b"")
    missing = tmp_path / "none.capture"
    deeds = put(library, changed, empty, missing, good, other)
    assert deeds == [adding.NEW, adding.NEW, adding.NEW, adding.RIVAL, adding.NEW]
    states = {e.columns["path"]: e.columns["state"] for e in find(library, Wanted())}
    assert states == {
        str(good): "sealed",
        str(changed): "damaged",
        str(empty): "unreadable",
        str(other): "unreadable",
        str(missing): "unreadable",
    }
    (entry,) = find(library, Wanted(state="damaged"))
    assert entry.columns["problem"] == "Line 1 (from byte 0): it was changed."
    empty.write_bytes(variant(base, number="7"))
    put(library, empty)
    assert count(library, Wanted(vehicle="7", state="sealed")) == 1


def test_a_name_that_no_database_takes_is_made_one_that_it_does(library, tmp_path, base):
    path = tmp_path / "a.capture"
    lines = variant(base).split(b"\n")
    lines[0] = lines[0].replace(
        b'"number":"1207"', b'"number":"a\\u0000\\ud800' + b"x" * 9000 + b'"'
    )
    path.write_bytes(b"\n".join(lines))
    assert put(library, path) == [adding.NEW]
    (entry,) = find(library, Wanted(vehicle="a*"))
    assert len(entry.columns["vehicle"]) == 200


def test_two_who_add_at_once_lose_nothing(where, tmp_path, base):
    folder = tmp_path / "captures"
    folder.mkdir()
    paths = [folder / f"{number:03}.capture" for number in range(60)]
    for number, path in enumerate(paths):
        path.write_bytes(variant(base, number=str(number)))
    facts = [read_facts(path) for path in paths]
    begin, failed = threading.Barrier(2), []

    def person(mine):
        try:
            with open_library(where) as library:
                begin.wait()
                for at in range(0, len(mine), 4):
                    write_batch(library, mine[at : at + 4])
        except Exception as error:
            failed.append(error)
            raise

    # They share twenty files, and come to them from opposite ends.
    people = [
        threading.Thread(target=person, args=(facts[:40],)),
        threading.Thread(target=person, args=(facts[:19:-1],)),
    ]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert not failed
    with open_library(where) as library:
        assert paths_in(library) == sorted(map(str, paths))
        assert all(len(entry.people) == 1 for entry in find(library, Wanted()))
