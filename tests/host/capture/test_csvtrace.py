"""Plain CSV traces: units, steps, and errors that name the line."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rockhold.capture.csvtrace import infer_step, read_csv, trace_from_text
from rockhold.errors import CaptureFormatError, OutOfRangeError


def text_of(values, head="t_s,travel_mm", places=6):
    return head + "\n" + "".join(f"{i * 0.05:.4f},{v:.{places}f}\n" for i, v in enumerate(values))


def test_millimetres_and_inches():
    trace = trace_from_text(text_of([0, 0.01, 0.03]), "x")
    assert trace.count.tolist() == [0, 1, 3]
    assert trace.spans[0].unit == "mm"
    assert trace.t_us.tolist() == [0, 50_000, 100_000]
    inches = trace_from_text(text_of([0, 0.0005, -0.001], "t_s,travel_in"), "x")
    assert inches.count.tolist() == [0, 1, -2]
    assert inches.spans[0].step_mm == pytest.approx(0.0127)  # exact inch


@pytest.mark.parametrize("step", [0.00127, 0.0127, 0.00254, 0.01, 0.001, 0.0005, 0.02])
@pytest.mark.parametrize("places", [5, 6, 9])
def test_the_step_is_found(step, places):
    rng = np.random.default_rng(3)
    counts = rng.integers(-40, 40, 200)
    values = np.round(counts * step, places)
    assert infer_step(values, 1.0) == pytest.approx(step, rel=0.01)
    trace = trace_from_text(text_of(values, places=places), "x")
    assert (trace.count - counts == 0).all()


@settings(max_examples=50)
@given(st.lists(st.integers(-30, 30), min_size=2, max_size=40))
def test_readings_survive_whatever_step_is_found(counts):
    values = np.array(counts) * 0.0127
    trace = trace_from_text(text_of(values), "x")
    differences = np.diff(trace.travel_mm)
    assert differences == pytest.approx(np.diff(values), abs=1.1e-4)


def test_a_given_step_is_taken():
    assert trace_from_text(text_of([0, 0.02, 0.04]), "x", 0.01).count.tolist() == [0, 2, 4]
    with pytest.raises(OutOfRangeError, match="step-mm"):
        trace_from_text(text_of([0]), "x", 0.0)


def test_values_that_are_no_multiples_keep_their_differences():
    trace = trace_from_text(text_of(0.00613 + np.array([0, 0.01, 0.03])), "x", 0.01)
    assert trace.count.tolist() == [0, 1, 3]


def test_other_columns_quotes_and_blank_lines():
    text = '\ufeffnote,"t_s",travel_mm\r\na,0,0.01\r\n\r\nb,1,0.02\r\n'
    trace = trace_from_text(text.removeprefix("\ufeff"), "x", 0.01)
    assert trace.count.tolist() == [1, 2]


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("", 1, "header"),
        ("time,value\n1,2\n", 1, "t_s,travel_mm"),
        ("t_s,travel_mm\n0,1\n1,abc\n", 3, "abc"),
        ("t_s,travel_mm\n0,1\n1\n", 3, "values"),
        ("t_s,travel_mm\n0,1\n\n1,nan\n", 4, "travel"),
        ("t_s,travel_mm\n0,1\n2,1\n1,1\n", 4, "goes back"),
        ("t_s,travel_mm\n0,1\n1e400,1\n", 3, "no time"),
        ("t_s;travel_mm\n0;1,5\n", 1, "by commas"),
    ],
)
def test_errors_name_the_line(text, line, words):
    with pytest.raises(CaptureFormatError, match=words) as error:
        trace_from_text(text, "some.csv")
    assert error.value.line == line
    assert "some.csv" in str(error.value)


def test_milliseconds_that_are_called_seconds_are_noticed():
    with pytest.raises(CaptureFormatError, match=r"50 s apart.*divide them by 1000"):
        trace_from_text("t_s,travel_mm\n" + "".join(f"{50 * i},0.01\n" for i in range(20)), "x")


def test_text_that_is_not_utf8_says_what_to_do(tmp_path):
    path = tmp_path / "wide.csv"
    path.write_text("t_s,travel_mm\n0,1\n", encoding="utf-16")
    with pytest.raises(CaptureFormatError, match="save it as plain UTF-8"):
        read_csv(path)


@pytest.mark.parametrize(
    ("begin", "kind"),
    # ISO/IEC 10918-1 (SOI and a marker), RFC 2083 (PNG), RFC 1952 (gzip), ISO 32000-1 (PDF)
    [(b"\xff\xd8\xff", "JPEG"), (b"\x89PNG", "PNG"), (b"\x1f\x8b", "gzip"), (b"%PDF-", "PDF")],
)
def test_a_photo_is_not_called_a_text(tmp_path, begin, kind):
    path = tmp_path / "photo"
    path.write_bytes(begin + bytes(20))
    with pytest.raises(CaptureFormatError, match=f"neither a capture nor a CSV.*{kind}"):
        read_csv(path)


@given(st.binary(max_size=200))
def test_any_bytes_give_a_trace_or_a_clear_error(tmp_path_factory, data):
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(b"t_s,travel_mm\n" + data)
    try:
        read_csv(path)
    except CaptureFormatError as error:
        assert "any.csv" in str(error)


def test_a_header_alone_is_an_empty_trace():
    assert len(trace_from_text("t_s,travel_mm\n", "x")) == 0
