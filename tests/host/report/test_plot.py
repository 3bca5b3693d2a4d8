"""Pictures of a good trace and of each misfortune: complete, and written as asked."""

import numpy as np
import pytest
from click.testing import CliRunner

from host.measure.jobs import COARSE, FINE, LIMITS, measured
from rockhold.cli import exits
from rockhold.cli.plot import command
from rockhold.errors import UsageError
from rockhold.measure.result import EndPlayResult
from rockhold.measure.trace import Trace, UnitSpan
from rockhold.report.plot import SIDE_COLOUR, draw, save


def luminance(colour):
    red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("kind", ["", "plunger_dropped", "zero_pressed", "one_sided"])
@pytest.mark.parametrize("gauge", [FINE, COARSE])
def test_everything_measured_is_drawn(gauge, kind):
    trace, _, result = measured(gauge, 2001, kind)
    figure = draw(trace, result, LIMITS, "job")
    main = figure.axes[0]
    texts = [text.get_text() for text in main.texts]
    assert texts.count("out") + texts.count("in") == len(result.holds)
    for number in range(1, len(result.findings) + 1):
        assert str(number) in texts
    listed = "".join(text.get_text() for text in figure.axes[2].texts)
    for finding in result.findings[:9]:
        assert finding.code in listed
    assert len(main.lines[0].get_xdata()) == len(trace)


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_files(tmp_path, ending):
    trace, _, result = measured(FINE, 1002)
    path = tmp_path / f"a.{ending}"
    save(draw(trace, result, LIMITS, "a"), path)
    start = path.read_bytes()[:200]
    assert start.startswith(b"\x89PNG") if ending == "png" else b"<?xml" in start


def test_nothing_measured_can_be_drawn():
    none = np.empty(0, dtype=np.int64)
    empty = Trace(none, none, (UnitSpan(0, "mm", 0.01),))
    figure = draw(empty, EndPlayResult(), LIMITS, "empty")
    assert "not measured" in figure.axes[0].get_title(loc="right")


def test_sides_differ_by_more_than_colour():
    assert abs(luminance(SIDE_COLOUR["out"]) - luminance(SIDE_COLOUR["in"])) > 0.02


def test_command_writes_and_never_overwrites(tmp_path):
    trace, _, _ = measured(FINE, 1002)
    lines = [f"{t:.4f},{x:.6f}" for t, x in zip(trace.t_s, trace.travel_mm, strict=True)]
    csv = tmp_path / "job.csv"
    csv.write_text("t_s,travel_mm\n" + "\n".join(lines))
    outcome = CliRunner().invoke(command, [str(csv)], standalone_mode=False)
    assert outcome.return_value == exits.OK
    assert (tmp_path / "job.png").stat().st_size > 10_000
    again = CliRunner().invoke(command, [str(csv)], standalone_mode=False)
    assert isinstance(again.exception, UsageError)
    other = CliRunner().invoke(command, [str(csv), "--out", "x.jpg"], standalone_mode=False)
    assert isinstance(other.exception, UsageError)
