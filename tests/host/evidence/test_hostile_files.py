"""Files made to break the reader: whatever comes, an answer and no exception, in little memory."""

import resource
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from rockhold.capture.lines import LONGEST_LINE, from_line
from rockhold.capture.reader import LARGEST, parse_capture, read_bytes
from rockhold.errors import CaptureFormatError
from rockhold.evidence import findings as f
from rockhold.evidence.verify import verify_bytes
from rockwire import frames
from rockwire import messages as m
from rockwire.units import HALF_THOU, Scale
from support import readings
from support_evidence import (
    TRUST,
    lines_of,
    make_capture,
    rechained,
    record_indexes,
    with_packet,
    without_seals,
)

HEAD = b'{"rockhold":"capture","version":1}\n'


class Whole:
    """A capture; hypothesis would print its bytes with every example."""

    def __init__(self, data):
        self.data = data


@pytest.fixture(scope="module")
def capture(tmp_path_factory):
    return Whole(make_capture(tmp_path_factory.mktemp("c") / "a.capture").read_bytes())


@pytest.fixture
def whole(capture):
    return capture.data


def answered(data):
    """Verify and format; only the answer counts, which must not be good."""
    from rockhold.evidence.words import in_full, one_line

    found = verify_bytes(Path("x"), data, TRUST)
    assert found.state in f.ORDER
    assert in_full(found).isprintable() or "\n" in in_full(found)
    assert one_line(found).isprintable()
    assert found.to_json()
    return found


NAMES = ["record", "result", "seal", "entry", "note", "board", "id", "nonce", "public_key"]
NAMES += ["procedure", "text", "sha256", "people", "role", "tools", "kind", "mpe_mm", "mount"]
JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(NAMES), inner, max_size=4)
    ),
    max_leaves=12,
)


def with_lie(whole, number, body):
    """The capture of a board without a key that says anything at all in one of its records."""
    lines = lines_of(without_seals(whole))
    at = record_indexes(lines)
    lines[at[number]] = with_packet(lines[at[number]], frames.pack_record(body, bytes(4)))
    del lines[at[-1]]
    nonce = bytes.fromhex(whole.split(b'"nonce":"', 1)[1][:32].decode())
    return b"".join(rechained(lines, nonce))


@settings(max_examples=150, deadline=None)
@given(st.lists(st.binary(max_size=60), max_size=6))
@example([b"\xef\xbb\xbf{}"])
@example([b'{"a":1,"a":2}'])
@example([b'{"a":NaN}'])
@example([b'{"a":1e999}'])
@example([b'{"a":"\\ud800"}'])
@example(['{"note":"\\u202e\u2028\x85"}'.encode()])
@example([b'{"record":"AAAA","host_utc_us":99999999999999999999999999}'])
def test_any_lines_below_a_header(lines):
    assert answered(HEAD + b"\n".join(lines)).state != f.GOOD


@settings(max_examples=150, deadline=None)
@given(JSON, st.lists(JSON, max_size=3))
def test_any_json_as_header_and_lines(header, lines):
    import json

    value = {"rockhold": "capture", "version": 1} | (header if isinstance(header, dict) else {})
    data = b"\n".join(json.dumps(part).encode() for part in [value, *lines]) + b"\n"
    assert answered(data).state != f.GOOD


@settings(max_examples=100, deadline=None)
@given(st.data())
def test_any_bytes_put_into_a_capture(capture, data):
    whole = capture.data
    at = data.draw(st.integers(0, len(whole)))
    size = data.draw(st.integers(0, 40))
    put = data.draw(st.binary(max_size=40))
    changed = whole[:at] + put + whole[at + size :]
    if changed != whole:
        assert answered(changed).state != f.GOOD


@settings(max_examples=100, deadline=None)
@given(st.binary(min_size=1, max_size=168), st.integers(0x80, 0x90), st.integers(1, 9))
def test_any_record_of_a_board_that_lies(capture, payload, kind, where):
    body = bytes((1, kind)) + bytes(4) + payload
    assert answered(with_lie(capture.data, where, body)).state != f.GOOD


@settings(max_examples=200, deadline=None)
@given(readings())
@example(m.Readings(0, Scale(1, 1, 18), (215_589,), (1,)))  # a step of 10^18 mm beside a usual one
def test_any_readings_of_a_board_that_lies(capture, batch):
    assert answered(with_lie(capture.data, 5, frames.record_body(batch, 5))).state != f.GOOD


@pytest.mark.parametrize("count", [1, 1 << 20, 1 << 40, -(1 << 62), 1 << 62])
@pytest.mark.parametrize("t_us", [0, 1_500_000, 80_000_000_000, 1 << 40, 1 << 62, (1 << 64) - 1])
def test_readings_beyond_all_bounds(whole, count, t_us):
    body = frames.record_body(m.Readings(0, HALF_THOU, (t_us,), (count,)), 5)
    assert answered(with_lie(whole, 5, body)).state in (f.NOT_REPRODUCED, f.DAMAGED)


@pytest.mark.parametrize("exponent", [-128, -20, 5, 127])
def test_counts_of_any_size(whole, exponent):
    for mantissa in (1, 255):
        scale = Scale(1, mantissa, exponent)
        body = frames.record_body(m.Readings(0, scale, (1_500_000, 1_600_000), (5, -7)), 5)
        assert answered(with_lie(whole, 5, body)).state in (f.NOT_REPRODUCED, f.DAMAGED)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (b"[" * 900_000, "nested too deeply|not JSON"),
        (b'{"a":' * 100_000, "nested too deeply|not JSON"),
        (b'{"a":"' + b"x" * LONGEST_LINE + b'"}', "longer than"),
        (b'{"a":1,"a":1}', "twice"),
        (b'{"a":{"b":1,"b":1}}', "twice"),
        (b'{"a":Infinity}', "not a JSON number"),
        (b'{"a":' + b"9" * 10_000 + b"}", "not JSON"),
        (b"\xff", "not UTF-8"),
        (b'{"a":"\xed\xa0\x80"}', "not UTF-8"),
        (b"5", "not a JSON object"),
        (b"{}", "not a JSON object"),
    ],
    ids=lambda value: str(value)[:20],
)
def test_a_hostile_line_is_refused_in_a_sentence(line, words):
    with pytest.raises(CaptureFormatError, match=words):
        from_line(line, 7)


def test_a_million_short_lines_and_a_million_seals_take_no_time(whole):
    seal = lines_of(whole)[-1]
    assert "more than 32 seals" in answered(whole + seal * 100_000).damage.what
    assert answered(whole + b'{"seal":"a..b"}\n' * 1_000_000).state == f.DAMAGED
    assert answered(whole + b"{}\n" * 100_000).state == f.DAMAGED


def test_a_gigabyte_is_refused_before_it_is_read(tmp_path):
    for name, start in (("zeros", b"\0"), ("line", b'{"rockhold":"capture","version":1,"a":"')):
        path = tmp_path / name
        with path.open("wb") as file:
            file.write(start)
            file.truncate(1 << 30)
        with pytest.raises(CaptureFormatError):
            read_bytes(path)
    assert LARGEST < 1 << 30


def test_verification_of_the_largest_file_stays_within_its_memory(tmp_path):
    path = tmp_path / "large.capture"
    with path.open("wb") as file:
        file.write(HEAD)
        file.write((b'{"note":"' + b"x" * 1000 + b'"}\n') * 8_000)
    program = (
        "import resource, sys; from pathlib import Path;"
        "from rockhold.evidence.verify import verify_file;"
        "print(verify_file(Path(sys.argv[1]), {}).state)"
    )
    limit = 1 << 30

    def bounded():
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))

    done = subprocess.run(
        [sys.executable, "-c", program, str(path)],
        capture_output=True,
        text=True,
        preexec_fn=bounded,
        env={"OPENBLAS_NUM_THREADS": "1", "PATH": ""},
    )
    assert done.stdout.strip() in (f.DAMAGED, f.UNSEALED), done.stderr


def test_the_first_line_alone_is_a_capture():
    assert parse_capture(Path("x"), HEAD).records == ()
    with pytest.raises(CaptureFormatError, match="ends inside its first line"):
        parse_capture(Path("x"), HEAD[:-1])
