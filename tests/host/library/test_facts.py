"""What is said of the invented fleet's captures, with the result computed anew and without."""

import json

import pytest

from rockhold.library.facts import facts_of_lost, read_facts
from support import ROOT

FLEET = ROOT / "demo_captures"


@pytest.mark.parametrize(
    ("name", "quick", "whole"),
    [
        ("good", "sealed", "sealed"),
        ("countersigned", "sealed", "sealed"),
        ("unsealed", "unsealed", "unsealed"),
        ("tampered", "damaged", "damaged"),
        ("relabelled", "damaged", "damaged"),
        ("forged-readings", "damaged", "damaged"),
        ("recovered", "unsealed", "unsealed"),
        # All signatures fit; only computing the result anew finds this one.
        ("wrong-result", "sealed", "not_reproduced"),
    ],
)
def test_states(name, quick, whole):
    path = FLEET / f"{name}.capture"
    looked, verified = read_facts(path), read_facts(path, verify=True)
    assert (looked.state, looked.checked_utc) == (quick, "")
    assert verified.state == whole
    assert verified.checked_utc


def test_no_name_stands_as_sealed_without_a_key(tmp_path):
    path = FLEET / "countersigned.capture"
    people = {(person.role, bool(person.key)) for person in read_facts(path).people}
    assert people == {("technician", True), ("reviewer", True)}
    lines = path.read_bytes().splitlines(keepends=True)
    header = json.loads(lines[0])
    header["people"].append({"role": "reviewer", "name": "Somebody Else"})
    changed = tmp_path / "a.capture"
    changed.write_bytes(json.dumps(header).encode() + b"\n" + b"".join(lines[1:]))
    keys = {person.name: person.key for person in read_facts(changed).people}
    assert keys["Somebody Else"] == ""


def test_the_stored_result_and_the_review_are_kept():
    facts = read_facts(FLEET / "countersigned.capture")
    assert facts.review == "accept"
    assert facts.result.verdict == "accept"
    assert facts.result.end_play_mm == pytest.approx(0.0762, abs=0.01)
    pressed = read_facts(FLEET / "zero-pressed.capture").result.findings
    assert "zero_pressed" in [code for code, at_s in pressed if 0 < at_s < 60]
    assert {tool.kind for tool in facts.tools} == {"indicator"}


def test_a_file_that_could_not_be_looked_at_is_listed_with_the_reason():
    facts = facts_of_lost(FLEET / "good.capture", "the power went")
    assert (facts.state, facts.problem) == ("unreadable", "the power went")
