"""A tool's record: its text, its checks, its due date."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockhold.errors import ToolError
from rockhold.tools.record import checked, due_after, from_text, to_text

TEXT = """# our best wrench
kind = "torque tool"
serial = "44-1821"
mpe_percent = 4.0
calibrated_on = 2026-03-02
"""


def test_due_twelve_months_after_calibration():
    # ISO 6789: twelve months where there is no own control procedure; from memory.
    record = from_text(TEXT, "W7", "W7.toml")
    assert record.due_on == date(2027, 3, 2)
    assert not record.overdue(date(2027, 3, 2))
    assert record.overdue(date(2027, 3, 3))
    assert "due on 2027-03-02" in record.why_overdue(date(2027, 3, 3))
    assert record.why_overdue(date(2026, 4, 1)) == ""


def test_due_at_the_end_of_a_short_month():
    assert due_after(date(2024, 2, 29)) == date(2025, 2, 28)
    assert due_after(date(2026, 8, 31), 6) == date(2027, 2, 28)
    assert due_after(date(2026, 12, 15), 1) == date(2027, 1, 15)


def test_five_thousand_uses_are_the_most():
    # ISO 6789: 5 000 cycles or twelve months, whichever comes first; from memory.
    day = date(2026, 4, 1)
    assert not from_text(TEXT + "cycles = 5000\n", "W7", "x").overdue(day)
    used = from_text(TEXT + "cycles = 5001\n", "W7", "x")
    assert used.overdue(day)
    assert "used 5001 times" in used.why_overdue(day)
    gauge = checked({"kind": "indicator", "cycles": 9000}, "D1")
    assert not gauge.overdue(day)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (TEXT.replace("4.0", "-4"), "W7.toml, line 4: mpe_percent: must be above zero"),
        (TEXT.replace("4.0", '"four"'), "line 4: mpe_percent: must be a number, is four"),
        (TEXT.replace("4.0", "nan"), "line 4: mpe_percent: must be above zero"),
        (TEXT.replace("mpe_percent", "mpe_mm"), "line 4: mpe_mm: does not belong"),
        (TEXT.replace("torque tool", "hammer"), "line 2: kind: write one of indicator"),
        (TEXT.replace("2026-03-02", '"2026-03-02"'), "line 5: calibrated_on: must be a day"),
        (TEXT.replace("2026-03-02", "2026-03-32"), "not valid TOML"),
        (TEXT + "due_on = 2025-01-01\n", "line 6: due_on: lies before"),
        (TEXT + "colour = 3\n", "line 6: colour: no such entry"),
        (TEXT + "cycles = 1.5\n", "line 6: cycles: must be a whole number"),
        (TEXT + 'name = "a\\u001b"\n', "line 6: name: must be a text"),
        ("kind =", "not valid TOML"),
        ("", "kind: write one of"),
    ],
)
def test_what_does_not_fit_is_named_with_its_line(text, words):
    with pytest.raises(ToolError) as caught:
        from_text(text, "W7", "W7.toml")
    assert words in str(caught.value)


def test_an_id_is_short_and_plain():
    for bad in ("", "a b", "../x", "x" * 33):
        with pytest.raises(ToolError, match="id has 1 to 32"):
            checked({"kind": "indicator"}, bad)


TEXTS = st.text(st.characters(exclude_categories=["C", "Z"]), max_size=40)
LENGTHS = st.none() | st.floats(1e-6, 10)
DAYS = st.none() | st.dates(date(2000, 1, 1), date(2090, 1, 1))


@given(TEXTS, TEXTS, LENGTHS, LENGTHS, DAYS)
def test_there_and_back(serial, certificate, step_mm, mpe_mm, calibrated_on):
    values = {"serial": serial, "certificate": certificate, "step_mm": step_mm}
    values |= {"kind": "indicator", "mpe_mm": mpe_mm, "calibrated_on": calibrated_on}
    record = checked(values, "D3")
    assert from_text(to_text(record), "D3", "x") == record
