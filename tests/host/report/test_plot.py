"""The sheet of a measurement: complete, in one unit and in words, and written as asked."""

from xml.etree import ElementTree as Xml

import numpy as np
import pytest
from click.testing import CliRunner

from host.measure.jobs import FINE, LIMITS, measured
from rockhold.cli import exits
from rockhold.cli.plot import command
from rockhold.errors import UsageError
from rockhold.measure.findings import TEXTS
from rockhold.measure.result import EndPlayResult
from rockhold.measure.trace import Trace, UnitSpan
from rockhold.report.pictures.svg import text_of
from rockhold.report.plot import draw, save
from rockhold.report.units import METRIC, US


def words_of(sheet):
    root = Xml.fromstring(text_of(sheet))
    return " ".join(node.text for node in root.iter("{http://www.w3.org/2000/svg}text"))


@pytest.mark.parametrize("kind", ["plunger_dropped", "zero_pressed", "one_sided"])
def test_findings_are_said_in_words(kind):
    trace, _, result = measured(FINE, 2001, kind)
    words = words_of(draw(trace, result, LIMITS, "job"))
    for finding in result.findings[:9]:
        assert finding.code not in words
        assert TEXTS[finding.code] in words


@pytest.mark.parametrize(
    ("units", "there", "not_there"), [(US, "thousandths", "mm"), (METRIC, "mm", "thousandths")]
)
def test_one_unit_at_a_time(units, there, not_there):
    trace, _, result = measured(FINE, 1002)
    words = words_of(draw(trace, result, LIMITS, "job", units))
    assert there in words
    assert not_there not in words


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_files(tmp_path, ending):
    trace, _, result = measured(FINE, 1002)
    path = tmp_path / f"a.{ending}"
    save(draw(trace, result, LIMITS, "a <b> & \x1b"), path)
    start = path.read_bytes()[:200]
    assert start.startswith(b"\x89PNG") if ending == "png" else b"<?xml" in start


def test_nothing_measured_can_be_drawn():
    none = np.empty(0, dtype=np.int64)
    empty = Trace(none, none, (UnitSpan(0, "mm", 0.01),))
    assert "No end play could be measured" in words_of(
        draw(empty, EndPlayResult(), LIMITS, "empty")
    )


def test_command_writes_and_never_overwrites(tmp_path):
    trace, _, _ = measured(FINE, 1002)
    lines = [f"{t:.4f},{x:.6f}" for t, x in zip(trace.t_s, trace.travel_mm, strict=True)]
    csv = tmp_path / "job.csv"
    csv.write_text("t_s,travel_mm\n" + "\n".join(lines))
    outcome = CliRunner().invoke(command, [str(csv), "--metric"], standalone_mode=False)
    assert outcome.return_value == exits.OK
    assert (tmp_path / "job.png").stat().st_size > 10_000
    again = CliRunner().invoke(command, [str(csv)], standalone_mode=False)
    assert isinstance(again.exception, UsageError)
    other = CliRunner().invoke(command, [str(csv), "--out", "x.jpg"], standalone_mode=False)
    assert isinstance(other.exception, UsageError)
