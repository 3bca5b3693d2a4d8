"""The captures of the invented fleet are frozen: newer code must find of them what it found."""

import json
import tomllib

import pytest

import plain_verifier
import tamper
from rockhold.capture.folders import files_in
from rockhold.capture.reader import read_capture
from rockhold.capture.torque import torque_trace_of
from rockhold.capture.trace import measured_trace
from rockhold.cli.verify import CODES
from rockhold.evidence.keys import stored_keys
from rockhold.evidence.method import METHOD
from rockhold.evidence.result import limits_of, measure_capture
from rockhold.evidence.trust import trust_of
from rockhold.evidence.verify import verify_bytes, verify_file
from rockhold.report.pictures.svg import text_of
from rockhold.report.plot import draw
from rockhold.report.units import US
from support import ROOT
from support_board import Rockhold

FOLDER = ROOT / "demo_captures"
FLEET = tomllib.loads((FOLDER / "fleet.toml").read_text(encoding="utf-8"))["capture"]
PLAIN_WORDS = {0: "sealed", 9: "unsealed", 10: "sealed", 11: "damaged", 12: "sealed"}


@pytest.fixture
def trust(monkeypatch):
    monkeypatch.setenv("ROCKHOLD_HOME", str(FOLDER / "keys"))
    return trust_of(stored_keys())


def path_of(entry):
    return FOLDER / f"{entry['name']}.capture"


def test_every_capture_is_in_the_fleet_and_in_the_readme():
    names = [path_of(entry) for entry in FLEET]
    assert sorted(names) == files_in([FOLDER])
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert all(f"`{entry['name']}`" in text for entry in FLEET)


@pytest.mark.parametrize("entry", FLEET, ids=lambda entry: entry["name"])
def test_verification_finds_what_it_always_found(entry, trust):
    found = verify_file(path_of(entry), trust)
    assert CODES[found.state] == entry["exit"], found.problems


def test_the_picture_in_the_readme_is_drawn_today_as_it_is_shown():
    capture = read_capture(FOLDER / "whole-job.capture")
    sheet = draw(
        measured_trace(capture),
        measure_capture(capture),
        limits_of(capture),
        "whole-job.capture",
        US,
        torque_trace_of(capture),
    )
    shown = (FOLDER / "whole-job.svg").read_text(encoding="utf-8").split("\n", 1)[1]
    assert text_of(sheet) == shown, (
        "rockhold plot demo_captures/whole-job.capture --force -o demo_captures/whole-job.svg"
    )


def test_a_capture_of_an_older_method_is_kept_and_still_agrees(trust):
    found = verify_file(FOLDER / "good-mm.capture", trust)
    assert found.result.method < METHOD
    assert found.result.reproduced


@pytest.mark.parametrize("entry", FLEET, ids=lambda entry: entry["name"])
def test_the_plain_verifier_agrees(entry):
    assert plain_verifier.word_for(path_of(entry).read_bytes()) == PLAIN_WORDS[entry["exit"]]


def test_the_plain_verifier_agrees_on_damaged_copies(trust):
    data = (FOLDER / "countersigned.capture").read_bytes()
    other = (FOLDER / "good.capture").read_bytes()
    for _, mutations in tamper.studies(data, other, None, b"", 499, (1,)):
        for name, changed in mutations:
            state = verify_bytes(FOLDER, changed, trust).state
            word = plain_verifier.word_for(changed)
            # A file cut inside its first line is unreadable to one, damaged to the other.
            assert (state == "good") == (word == "sealed") == (changed == data), name
            assert (state == "unsealed") <= (word in ("unsealed", "damaged")), name


def test_the_demo_keys_are_marked_and_trusted_by_nobody_else(trust, monkeypatch, tmp_path):
    assert all("demo" in who.name for who in trust.values())
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path))
    assert verify_file(FOLDER / "good.capture", trust_of(stored_keys())).state == "unknown_key"


def test_the_command_line_over_the_whole_fleet():
    done = Rockhold(FOLDER / "keys")("verify", FOLDER, "--json")
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    states = {row["file"].rsplit("/", 1)[1][:-8]: row["state"] for row in rows}
    assert {name: CODES[state] for name, state in states.items()} == {
        entry["name"]: entry["exit"] for entry in FLEET
    }
    assert done.returncode == 11
    assert done.stderr == ""


def test_a_recovered_capture_says_so_and_lost_nothing():
    notes = read_capture(FOLDER / "recovered.capture").of_kind("note")
    recovered = [note for note in notes if note["note"] == "recovered"]
    assert recovered
    assert recovered[0]["torn_bytes"] > 0
