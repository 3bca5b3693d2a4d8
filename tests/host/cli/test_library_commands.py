"""`rockhold library` as a person meets it."""

import json

import pytest

from rockhold.cli import exits
from support import ROOT
from support_board import Rockhold
from support_evidence import TECHNICIAN, public_of
from support_library import growing_bases, variant


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


@pytest.fixture(scope="module")
def bases(tmp_path_factory):
    return growing_bases(tmp_path_factory.mktemp("bases"))


@pytest.fixture
def captures(tmp_path, bases):
    folder = tmp_path / "captures"
    folder.mkdir()
    for month, base in enumerate(bases, start=1):
        data = variant(base, opened_utc=f"2026-{month:02}-01T09:00:00Z")
        (folder / f"{month}.capture").write_bytes(data)
    return folder


def test_the_fleet_is_added_found_and_followed(rockhold, tmp_path):
    index = ["--index", tmp_path / "fleet.sqlite"]
    done = rockhold("library", "add", ROOT / "demo_captures", *index)
    assert done.returncode == exits.BAD_EVIDENCE, done.stderr
    assert "tampered.capture: Line" in done.stdout
    assert "Of these: 2 unsealed, 3 damaged." in done.stdout
    again = rockhold("library", "add", ROOT / "demo_captures", *index)
    assert "known as they are" in again.stdout
    assert again.returncode == exits.OK
    done = rockhold("library", "find", "--finding", "drifting", *index)
    assert "drifting.capture" in done.stdout
    assert "1 capture found." in done.stdout
    done = rockhold("library", "rebuild", "--verify", *index)
    assert "2 unsealed, 1 not reproduced, 3 damaged" in done.stdout, done.stdout + done.stderr
    # The demo fleet's numbers go on behind a comma: "R-104, tractor".
    done = rockhold("library", "find", "--vehicle", "r-104", *index)
    assert "3 captures found." in done.stdout
    assert 'just "r-104"' in done.stderr
    assert rockhold("library", "find", "--vehicle", "R-10", *index).stdout == "0 captures found.\n"
    done = rockhold("library", "trend", "R-101", "axle 1, left", *index)
    assert done.returncode == exits.OK, done.stderr
    assert "1 measurement (marked *)" in done.stdout
    done = rockhold("library", "keep", "--left", "R-101=2026-01-01", *index)
    assert 'just "r-101"' in done.stderr
    done = rockhold("library", "find", "--finding", "nonsense", *index)
    assert done.returncode == exits.USAGE
    assert "base_moved" in done.stderr


def test_trust_is_what_the_person_who_looks_trusts_now(rockhold, captures):
    assert rockhold("library", "add", captures).returncode == exits.OK
    found = rockhold("library", "find", "--person", "miller", "--most", "1")
    assert "A. Miller (key not trusted here); sealed, not verified" in found.stdout
    key = public_of(TECHNICIAN).hex()
    assert rockhold("keys", "trust", key, "--role", "technician", "--name", "M", "--yes")
    found = rockhold("library", "find", "--person", "miller", "--most", "1")
    assert "A. Miller; sealed" in found.stdout
    (line, *_) = rockhold("library", "find", "--json").stdout.splitlines()
    assert json.loads(line)["people"][0]["trusted"] is True


def test_growth_is_told_and_drawn(rockhold, captures, tmp_path):
    rockhold("library", "add", captures)
    picture = tmp_path / "left.png"
    done = rockhold("library", "trend", "1207", "axle 2, left", "-o", picture)
    assert done.returncode == exits.OK, done.stderr
    assert "IT GROWS" in done.stdout
    assert picture.read_bytes().startswith(b"\x89PNG")
    told = json.loads(rockhold("library", "trend", "1207", "axle 2 left", "--json").stdout)
    assert told["grows"] is True
    assert len(told["points"]) == 5
    missing = rockhold("library", "trend", "1208", "axle 2, left")
    assert "no capture of vehicle 1208" in missing.stderr
    assert rockhold("library", "trend", "1207", "axle 2, left", "-o", picture).returncode == 2


def test_keep_lists_and_deletes_nothing(rockhold, captures, tmp_path):
    rockhold("library", "add", captures)
    left = tmp_path / "left.csv"
    left.write_text("vehicle,left\n1207,2026-03-01\n")
    done = rockhold("library", "keep", "--left-list", left, "--today", "2027-02-02")
    assert "2026-01-01  1207: may go" in done.stdout
    assert "2 may go, 3 are to be kept. Nothing was deleted." in done.stdout
    assert len(list(captures.iterdir())) == 5
    done = rockhold("library", "keep", "--today", "2040-01-01")
    assert "0 may go" in done.stdout
    for wrong in ("1207", "1207=soon"):
        done = rockhold("library", "keep", "--left", wrong)
        assert done.returncode == exits.USAGE
        assert "2026-03-01" in done.stderr


def test_rebuild_drops_what_is_gone_and_finds_what_is_new(rockhold, captures, bases):
    rockhold("library", "add", captures)
    (captures / "1.capture").unlink()
    (captures / "9.capture").write_bytes(variant(bases[0], number="9"))
    done = rockhold("library", "rebuild")
    assert done.returncode == exits.OK, done.stderr
    assert "1.capture: gone" in done.stderr
    assert "5 captures found" in rockhold("library", "find").stdout


def test_a_hostile_name_does_not_reach_the_terminal(rockhold, tmp_path, bases):
    path = tmp_path / "a.capture"
    evil = "\x1b[2J"
    path.write_bytes(
        variant(bases[0], number=evil, position=evil, opened_utc="2026-03-02T10:00:00Z")
    )
    rockhold("library", "add", path)
    data = path.read_bytes().replace(b'"opened_utc":"2026', b'"opened_utc":"\\u001b[2J', 1)
    path.with_name("b.capture").write_bytes(data)
    rockhold("library", "add", path.with_name("b.capture"))
    found = rockhold("library", "find")
    assert "2 captures found" in found.stdout
    assert "\x1b" not in found.stdout


def test_nothing_added_and_nothing_there_get_a_sentence(rockhold, tmp_path):
    done = rockhold("library", "rebuild")
    assert done.returncode == exits.USAGE
    assert "say which folders" in done.stderr
    done = rockhold("library", "add", tmp_path)
    assert "no captures in" in done.stderr
    done = rockhold("library", "find", "--index", tmp_path / "none.sqlite")
    assert done.returncode == exits.LIBRARY
    assert "`rockhold library add FOLDER`" in done.stderr
    assert not (tmp_path / "none.sqlite").exists()
    done = rockhold("library", "find", "--index", tmp_path)
    assert f"the index {tmp_path}: unable to open" in done.stderr
    assert done.returncode == exits.LIBRARY
