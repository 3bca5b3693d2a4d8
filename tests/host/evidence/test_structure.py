import json

import pytest

from rockhold.capture.reader import parse_capture
from rockhold.errors import SignatureError
from rockhold.evidence.linemarks import make_marks
from rockhold.evidence.seal import find_seals
from rockhold.evidence.structure import check_structure, job_of
from support_evidence import lines_of, make_capture, record_indexes, without_seals


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return make_capture(tmp_path_factory.mktemp("c") / "a.capture").read_bytes()


def check(data):
    seals = find_seals(data)
    check_structure(data, parse_capture("x", data), seals[-1].end if seals else 0)


def test_a_capture_as_it_is_made_keeps_the_rules_at_every_line(whole):
    lines = lines_of(whole)
    for number in range(1, len(lines) + 1):
        check(b"".join(lines[:number]))


def test_a_record_below_a_result_or_seal_is_told(whole):
    lines = lines_of(without_seals(whole))
    record = lines[record_indexes(lines)[3]]
    for data in (b"".join(lines), whole):
        with pytest.raises(SignatureError, match="below a result or a seal") as caught:
            check(data + record)
        assert (caught.value.line, caught.value.byte) == (data.count(b"\n") + 1, len(data))


def test_marks_lead_to_a_seal_or_to_a_note(whole):
    marks = b"".join(lines_of(whole)[:-1])
    note = b'{"note":"recovered","torn_bytes":0}\n'
    check(marks)
    check(marks + b'{"seal":"cut')
    check(marks + note)
    check(whole + note)
    with pytest.raises(SignatureError, match="a seal belongs here") as caught:
        check(marks + b'{"entry":"x"}\n')
    assert (caught.value.line, caught.value.byte) == (marks.count(b"\n") + 1, len(marks))
    with pytest.raises(SignatureError, match="a seal belongs here"):
        check(whole + make_marks(whole, len(whole)) + b'{"entry":"x"}\n')


def test_the_procedure_is_the_one_that_its_hash_names(whole):
    changed = whole.replace(b"hold_s = 1.0", b"hold_s = 0.1", 1)
    with pytest.raises(SignatureError, match="hash") as caught:
        check(changed)
    assert (caught.value.line, caught.value.byte) == (1, 0)


@pytest.mark.parametrize("procedure", [{}, {"text": 5, "sha256": ""}, {"text": None}])
def test_a_procedure_without_its_text_keeps_no_rule(procedure):
    header = b'{"rockhold":"capture","version":1,"procedure":%s}\n' % json.dumps(procedure).encode()
    with pytest.raises(SignatureError, match="hash"):
        check(header)


@pytest.mark.parametrize(
    ("header", "facts"),
    [
        ({}, {}),
        ({"vehicle": 5, "people": 7, "wheel_end": None}, {}),
        ({"people": [5, {"name": "A"}]}, {"person": "A"}),
        ({"people": [{"role": "technician", "name": "A. Miller"}]}, {"technician": "A. Miller"}),
        ({"people": [{"role": "technician"}]}, {}),
        (
            {
                "opened_utc": "t",
                "vehicle": {"number": "T-1", "note": 2},
                "wheel_end": {"a_b": "left", "unsaid": ""},
            },
            {"opened": "t", "vehicle": "T-1, note 2", "wheel end": "a b left"},
        ),
    ],
)
def test_what_the_header_says_of_the_job_whatever_is_in_it(header, facts):
    assert job_of(header) == facts
