import numpy as np
import pytest

from rockhold.capture.csvtrace import trace_from_text
from rockhold.capture.readings_csv import csv_of
from rockhold.measure.trace import Trace, UnitSpan


def trace(counts, *spans):
    return Trace(
        np.arange(len(counts), dtype=np.int64) * 71_937 + 1,
        np.array(counts, dtype=np.int64),
        spans,
    )


# The inch is 25.4 mm by definition; counts of 0.0005 in and 0.00005 in are exact in six decimals.
@pytest.mark.parametrize(
    ("unit", "step_mm"), [("in", 0.0127), ("in", 0.00127), ("mm", 0.01), ("mm", 0.001)]
)
def test_comes_back_exactly(unit, step_mm):
    counts = [-3, 0, 1, 2, 5, 7, 12345]
    text = csv_of(trace(counts, UnitSpan(0, unit, step_mm)))
    assert text.startswith(f"t_s,travel_{unit}\n0.000001,")
    back = trace_from_text(text, "x", step_mm)
    assert back.count.tolist() == counts
    assert back.t_us.tolist() == [i * 71_937 + 1 for i in range(len(counts))]


def test_a_changed_unit_is_written_in_mm_throughout():
    text = csv_of(trace([2, 2], UnitSpan(0, "in", 0.0127), UnitSpan(1, "mm", 0.01)))
    assert text.splitlines() == [
        "t_s,travel_mm",
        "0.000001,0.025400",
        "0.071938,0.020000",
    ]


def test_no_minus_zero():
    assert "-0.0" not in csv_of(trace([0], UnitSpan(0, "in", -0.0127)))
