import json
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockhold.capture.lines import LONGEST_LINE, from_line, to_line
from rockhold.capture.reader import parse_capture, read_capture
from rockhold.errors import CaptureFormatError

HEADER = b'{"rockhold":"capture","version":1}\n'
RECORD = b'{"record":"AYEBAAAAAAAJaW5kaWNhdG9yunkjiu7a","host_utc_us":5}\n'
NOTE = b'{"note":"x","host_utc_us":6}\n'
FLOATS = st.floats(allow_nan=False, allow_infinity=False)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text() | FLOATS,
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=10,
)


def refused(tmp_path, data):
    path = tmp_path / "x.capture"
    path.write_bytes(data)
    with pytest.raises(CaptureFormatError) as caught:
        read_capture(path)
    return str(caught.value), caught.value.line


@given(st.dictionaries(st.text(), JSON, min_size=1))
def test_lines_come_back(value):
    line = to_line(value)
    assert line.count(b"\n") == 1
    assert from_line(line[:-1], 1) == value


def test_whole_capture(tmp_path):
    path = tmp_path / "x.capture"
    path.write_bytes(HEADER + RECORD + NOTE + b'{"from the future":1}\n')
    capture = read_capture(path)
    assert [record.line for record in capture.records] == [2]
    assert capture.of_kind("note") == [json.loads(NOTE)]
    assert capture.others[-1] == (4, {"from the future": 1})
    assert not capture.cut_short


@given(st.integers(0, len(RECORD + NOTE) - 1))
def test_cut_anywhere_loses_at_most_the_last_line(size):
    data = HEADER + (RECORD + NOTE)[:size]
    capture = parse_capture(Path("x"), data)
    assert len(capture.records) == (size >= len(RECORD))
    assert capture.cut_short == (not data.endswith(b"\n"))
    assert data[: capture.whole_size].endswith(b"\n")


@pytest.mark.parametrize(
    ("data", "words", "line"),
    [
        (b"", "is empty", 0),
        (b"\0" * 100, "is not a capture", 1),
        (b"t_s,travel_mm\n", "is not a capture", 1),
        (b'{"rockhold":', "ends inside its first line", 1),
        (b'{"rockhold":"capture","version":2}\n', "Use a newer rockhold", 1),
        (b'{"rockhold":"trace","version":1}\n', "not the header", 1),
        (HEADER + b"\xff\xfe\n", "line 2 is not UTF-8", 2),
        (HEADER + NOTE + b"nonsense\n", "line 3 is not JSON", 3),
        (HEADER + b'{"a":1,"a":2}\n', "stands twice", 2),
        (HEADER + b'{"a":NaN}\n', "NaN is not a JSON number", 2),
        (HEADER + b"[1]\n", "not a JSON object", 2),
        (HEADER + b"{}\n", "not a JSON object", 2),
        (HEADER + b'{"a":' + b"[" * 100_000 + b"\n", "line 2 is", 2),
        (HEADER + b'{"a":"' + b"x" * LONGEST_LINE + b'"}\n', "longer than", 2),
        (HEADER + b'{"a":' + b"9" * 10_000 + b"}\n", "line 2 is not JSON", 2),
        (HEADER + b'{"record":"???","host_utc_us":1}\n', "not base64", 2),
        (HEADER + b'{"record":"AA==","host_utc_us":"now"}\n', "not a record", 2),
    ],
)
def test_what_is_no_capture_is_refused_with_its_place(tmp_path, data, words, line):
    message, at = refused(tmp_path, data)
    assert words in message
    assert "x.capture" in message
    assert at == line


def test_a_gigabyte_of_zeros_is_refused_at_once(tmp_path):
    path = tmp_path / "zeros"
    with path.open("wb") as file:
        os.truncate(file.fileno(), 1 << 30)
    with pytest.raises(CaptureFormatError, match="is not a capture"):
        read_capture(path)


def test_a_capture_larger_than_any_is_refused_unread(tmp_path):
    path = tmp_path / "large"
    with path.open("wb") as file:
        file.write(HEADER)
        os.truncate(file.fileno(), 1 << 30)
    with pytest.raises(CaptureFormatError, match="at most"):
        read_capture(path)


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(data):
    try:
        parse_capture(Path("x"), HEADER + data)
    except CaptureFormatError as error:
        assert error.line >= 2


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"%PDF-1.7\n%\xe2\xe3", "begins like a PDF"),
        (b"\xef\xbb\xbf" + HEADER, "byte order mark"),
        (HEADER.decode().encode("utf-16"), "UTF-16"),
        (b"t_s,travel_mm\n", 'begins with "t_s,'),
        (b"\x00\x01\x02\x03", "bytes 00 01 02 03"),
    ],
)
def test_what_is_no_capture_is_called_what_it_looks_like(tmp_path, data, words):
    assert words in refused(tmp_path, data)[0]


def test_a_pipe_is_refused_rather_than_waited_for(tmp_path):
    os.mkfifo(tmp_path / "x.capture")
    with pytest.raises(CaptureFormatError, match="is a pipe"):
        read_capture(tmp_path / "x.capture")
