"""The one drawing of a trace: everything measured is in it, in one unit, for every eye."""

from xml.etree import ElementTree as Xml

import numpy as np
import pytest

from host.measure.jobs import COARSE, FINE, LIMITS, NO_CERTIFICATE, measured, with_sensor
from rockhold.measure.measure import measure_trace
from rockhold.measure.result import EndPlayResult
from rockhold.measure.trace import Trace, UnitSpan
from rockhold.report.pictures import band_picture
from rockhold.report.pictures.scale import Scale, ticks
from rockhold.report.pictures.svg import COLOURS, PAPER, text_of
from rockhold.report.pictures.trace_picture import NARROW, WIDE, trace_picture
from rockhold.report.units import METRIC, US
from support import ROOT

SVG = "{http://www.w3.org/2000/svg}"


def texts(canvas):
    return [node.text for node in Xml.fromstring(text_of(canvas)).iter(f"{SVG}text")]


@pytest.mark.parametrize("kind", ["", "plunger_dropped", "zero_pressed", "one_sided"])
@pytest.mark.parametrize("gauge", [FINE, COARSE])
@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_everything_measured_is_drawn(gauge, kind, size):
    trace, _, result = measured(gauge, 2001, kind)
    canvas = trace_picture(trace, result, US, size, "t")
    found = texts(canvas)
    assert found.count("out") + found.count("in") == len(result.holds)
    numbers = [node.text for node in canvas.node.iter("text") if "mark" in node.get("class")]
    assert numbers == [str(n) for n in range(1, len(result.findings) + 1)]
    assert "indication, thousandths of an inch" in found
    assert not any("mm" in text for text in found)
    assert len([n for n in canvas.node.iter("line") if n.get("stroke-width") == "3.5"]) == len(
        result.holds
    )


@pytest.mark.parametrize("size", [WIDE, NARROW])
def test_a_strip_shows_where_the_motion_sensor_saw_the_wheel_turn(size):
    trace, turning, _ = with_sensor(FINE, 2001)
    result = measure_trace(trace, LIMITS, NO_CERTIFICATE, turning)
    canvas = trace_picture(trace, result, US, size, "t")
    strips = [n for n in canvas.node.iter("line") if n.get("stroke-width") == "5"]
    assert len(strips) == len(result.turned) + 1  # and one beside the words
    assert any("motion sensor" in text for text in texts(canvas))
    assert "strip shows when" in canvas.node.find("desc").text
    shaded = [n for n in canvas.node.iter("rect") if n.get("class") in ("p-out-area", "p-in-area")]
    for strip in strips[:-1]:  # nobody turns a wheel that is held
        middle = (float(strip.get("x1")) + float(strip.get("x2"))) / 2
        assert not any(
            float(n.get("x")) < middle < float(n.get("x")) + float(n.get("width")) for n in shaded
        )


def test_a_plunger_in_a_hole_does_not_make_the_rest_flat():
    trace, _, result = measured(FINE, 2001, "plunger_dropped")
    canvas = trace_picture(trace, result, US, WIDE, "t")
    levels = [
        float(n.get("y1")) for n in canvas.node.iter("line") if n.get("stroke-width") == "3.5"
    ]
    assert max(levels) - min(levels) > 0.2 * WIDE[1]


def test_who_cannot_see_it_is_told():
    trace, _, result = measured(FINE, 1002)
    root = Xml.fromstring(text_of(trace_picture(trace, result, METRIC, WIDE, "t")))
    assert root.get("role") == "img"
    assert [node.tag for node in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root.get("aria-labelledby").split() == [root[0].get("id"), root[1].get("id")]
    assert f"{sum(h.side == 'out' for h in result.holds)} times held pulled out" in root[1].text
    assert "in mm" in root[1].text


def test_a_spike_survives_the_thinning():
    n = 400_000
    counts = np.zeros(n, dtype=np.int64)
    counts[123_457] = 40
    trace = Trace(np.arange(n, dtype=np.int64) * 2000, counts, (UnitSpan(0, "mm", 0.01),))
    canvas = trace_picture(trace, EndPlayResult(), METRIC, WIDE, "t")
    path = next(node.get("d") for node in canvas.node.iter("path"))
    numbers = [float(part) for part in path[1:].split()]
    assert len(numbers) < 8 * WIDE[0]
    assert len(set(numbers[1::2])) > 1


def test_silence_is_drawn_as_a_gap():
    t_us = np.concatenate([np.arange(50), np.arange(50) + 100]).astype(np.int64) * 70_000
    trace = Trace(t_us, np.arange(100, dtype=np.int64), (UnitSpan(0, "mm", 0.01),))
    canvas = trace_picture(trace, EndPlayResult(), METRIC, WIDE, "t")
    assert len([n for n in canvas.node.iter("path") if n.get("class") == "p-trace"]) == 2


def test_nothing_measured_can_be_drawn():
    none = np.empty(0, dtype=np.int64)
    empty = Trace(none, none, (UnitSpan(0, "mm", 0.01),))
    assert "There are no readings to draw." in texts(
        trace_picture(empty, EndPlayResult(), US, WIDE, "t")
    )
    band = band_picture.band_picture(EndPlayResult(), LIMITS, US, WIDE, "b")
    assert "tolerance band" in texts(band)


def test_the_band_says_its_numbers():
    _, _, result = measured(FINE, 1002)
    words = band_picture.description(result, LIMITS, US)
    assert "from 1 to 5 thousandths of an inch" in words


def luminance(colour):
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    """WCAG 2.2, definition of contrast ratio."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


STYLE = (ROOT / "host/rockhold/report/templates/report.css").read_text(encoding="utf-8")


def test_contrast_is_reckoned_as_wcag_does():
    # WCAG 2.2: black on white has 21:1. #777777 on white has 4.48:1, just too little (from memory).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("scheme", [0, 1])
def test_texts_and_lines_stand_out(scheme):
    # WCAG 2.2, 1.4.3: texts 4.5:1; 1.4.11: what is needed to understand a picture 3:1.
    colour = {name: pair[1 + scheme] for name, pair in COLOURS.items()}
    assert f"--paper: {PAPER[scheme]};" in STYLE
    for name in ("ink", "quiet"):
        assert contrast(colour[name], PAPER[scheme]) >= 4.5
    for name, ground in (
        ("out", "out-area"), ("in", "in-area"), ("mark-text", "mark"), ("accept", "band"),
    ):  # fmt: skip
        assert contrast(colour[name], colour[ground]) >= 4.5, name
    for name in ("trace", "axis", "out-line", "in-line", "mark-line", "band-line"):
        assert contrast(colour[name], PAPER[scheme]) >= 3, name
    for name in ("trace", "out-line", "in-line"):
        for ground in ("out-area", "in-area"):
            assert contrast(colour[name], colour[ground]) >= 3, (name, ground)
    for verdict in ("accept", "reject", "undecided"):
        assert contrast(colour[f"{verdict}-line"], colour["band"]) >= 3
    assert abs(luminance(colour["out"]) - luminance(colour["in"])) > 0.01


def test_marks_of_an_axis_are_round():
    assert [text for _, text in ticks(0, 6.25, 8)] == ["0", "1", "2", "3", "4", "5", "6"]
    assert [text for _, text in ticks(0.0, 0.16, 8)][1] == "0.02"
    assert ticks(1, 1, 5) == []
    scale = Scale(0, 10, 100, 0)
    assert (scale(2.5), scale.inside(20)) == (75, 0)
