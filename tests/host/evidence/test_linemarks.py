import base64
import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockhold.evidence import linemarks
from rockhold.evidence.linemarks import find_change, make_marks

LINES = [f"line {number}\n".encode() for number in range(20)]
SEAL = b'{"seal":"x"}\n'


def place_in(lines, marks_of=LINES):
    marks = make_marks(b"".join(marks_of), 0)
    data = b"".join(lines) + marks
    return find_change(data + SEAL, 0, len(data), 1)


def test_nothing_changed_nothing_found():
    assert place_in(LINES) is None


@given(st.integers(0, 19))
def test_a_changed_line_is_found(at):
    place = place_in([*LINES[:at], b"another\n", *LINES[at + 1 :]])
    assert (place.line, place.byte) == (at + 1, sum(map(len, LINES[:at])))
    assert place.what == "it was changed"


@given(st.integers(0, 19))
def test_a_line_taken_out_or_put_in_is_found_and_named_so(at):
    out = place_in(LINES[:at] + LINES[at + 1 :])
    assert (out.line, out.what) == (at + 1, "the line that stood here was taken out")
    put = place_in([*LINES[:at], b"another\n", *LINES[at:]])
    assert (put.line, put.what) == (at + 1, "it was put in")


def test_swapped_lines_are_found_at_the_first():
    place = place_in([*LINES[:4], LINES[7], *LINES[5:7], LINES[4], *LINES[8:]])
    assert place.line == 5
    assert "swapped" in place.what


def test_changed_marks_are_told_from_changed_lines():
    above = b"".join(LINES)
    marks = make_marks(above, 0)
    for at in range(9, len(marks) - 1):
        changed = marks[:at] + bytes((marks[at] ^ 1,)) + marks[at + 1 :]
        if b"\n" in changed[:-1]:
            continue
        place = find_change(above + changed + SEAL, 0, len(above + changed), 1)
        assert place.line == 21, at


@pytest.mark.parametrize("instead", [b"\n", b"{}\n"])
def test_where_no_marks_stand_above_a_seal_that_line_is_named(instead):
    above = b"".join(LINES)
    place = find_change(above + instead + SEAL, 0, len(above + instead), 1)
    assert (place.line, place.byte) == (len(LINES) + 1, len(above))
    assert place.what == "it should hold the line marks, and does not"


def test_marks_cover_the_lines_since_the_last_seal_only():
    above = b"".join(LINES)
    after = len(b"".join(LINES[:15]))
    marks = make_marks(above, after)
    assert len(marks) < len(make_marks(above, 0))
    changed = above[:-2] + b"X\n"
    place = find_change(changed + marks + SEAL, after, len(changed + marks), 16)
    assert place.line == 20
    assert place.byte == above.rfind(b"\n", 0, -1) + 1


def test_of_very_many_lines_one_mark_stands_for_several(monkeypatch):
    monkeypatch.setattr(linemarks, "MOST_MARKS", 6)
    marks = make_marks(b"".join(LINES), 0)
    groups = [b"".join(LINES[at : at + 4]) for at in range(0, 20, 4)]
    stored = b"".join(hashlib.sha256(group).digest()[:3] for group in groups)
    text = base64.b64encode(stored + hashlib.sha256(stored).digest()[:3]).decode()
    assert marks == f'{{"marks":"{text}","each":4}}\n'.encode()
    place = place_in([*LINES[:9], b"another\n", *LINES[10:]])
    assert place.line == 9
    assert "one of the 3 lines below" in place.what


def test_the_marks_are_what_the_specification_says():
    marks = make_marks(b"a\nb\n", 0)
    both = hashlib.sha256(b"a\n").digest()[:3] + hashlib.sha256(b"b\n").digest()[:3]
    text = base64.b64encode(both + hashlib.sha256(both).digest()[:3]).decode()
    assert marks == f'{{"marks":"{text}","each":1}}\n'.encode()


@pytest.mark.parametrize("above", [b"", b"no end"])
def test_no_lines_no_marks_no_trouble(above):
    assert make_marks(above, 0).endswith(b'"each":1}\n')


def test_only_beyond_two_hundred_thousand_lines_a_mark_stands_for_several():
    # protocol/README.md, 3.3
    assert make_marks(b"\n" * 200_000, 0).endswith(b'"each":1}\n')
    assert make_marks(b"\n" * 200_001, 0).endswith(b'"each":2}\n')
