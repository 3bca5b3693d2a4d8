"""Draw a trace with its holds, levels and findings.

The one drawing of a trace: the report, its PDF and `rockhold plot` all show it. Sides differ by
colour and by word, findings by number, so that the picture also serves without colours.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from rockhold.measure.result import EndPlayResult, Finding, HoldResult
from rockhold.measure.trace import Trace
from rockhold.report.pictures.curve import Frame, draw_axes, draw_curve
from rockhold.report.pictures.scale import Scale
from rockhold.report.pictures.svg import Canvas, describe, new_picture
from rockhold.report.units import Units

WIDE = (760.0, 400.0)
NARROW = (360.0, 330.0)  # a phone: as high as wide, so that texts keep their size

_LEFT, _RIGHT, _TOP, _BOTTOM = 52.0, 10.0, 30.0, 42.0
_LEAST_MM = 0.004  # a trace that does not move is not blown up beyond this

Floats = NDArray[np.float64]


def trace_picture(
    trace: Trace, result: EndPlayResult, units: Units, size: tuple[float, float], name: str
) -> Canvas:
    """Return the picture of a trace.

    Args:
        trace: The readings.
        result: What was measured in them.
        units: In which to show them.
        size: Width and height in pixels.
        name: Makes the picture's ids differ from those of others on a page.
    """
    canvas = new_picture(*size, name)
    draw_trace(canvas, trace, result, units)
    describe(canvas, name, "The readings over time", description(trace, result, units))
    return canvas


def draw_trace(canvas: Canvas, trace: Trace, result: EndPlayResult, units: Units) -> None:
    """Draw on a canvas, which may be a part of a larger picture."""
    if not len(trace):
        middle = (canvas.width / 2, canvas.height / 2)
        canvas.text("quiet", middle, "There are no readings to draw.", anchor="middle")
        return
    travel = trace.travel_mm * units.per_mm
    low, high = _view(trace, travel, result, units)
    t_s = trace.t_s - trace.t_s[0]
    frame = Frame(
        canvas,
        Scale(0.0, max(float(t_s[-1]), 1e-3), _LEFT, canvas.width - _RIGHT),
        Scale(low, high, canvas.height - _BOTTOM, _TOP),
    )
    _draw_holds(frame, trace, result.holds)
    draw_axes(frame, f"indication, {units.length}", 6)
    draw_curve(frame, t_s, travel)
    _draw_levels(frame, trace, travel, result.holds)
    _draw_turned(frame, trace, result.turned)
    _draw_findings(frame, result.findings, float(trace.t_s[0]))


def description(trace: Trace, result: EndPlayResult, units: Units) -> str:
    """Say in words what the picture of a trace shows."""
    if not len(trace):
        return "There are no readings."
    seconds = float(trace.t_s[-1] - trace.t_s[0])
    text = f"{len(trace)} readings over {seconds:.0f} seconds, in {units.length}."
    for side, words in (("out", "pulled out"), ("in", "pushed in")):
        levels = [hold.level_mm for hold in result.holds if hold.side == side]
        if levels:
            mean = sum(levels) / len(levels)
            text += f" {_times(len(levels))} held {words}, at {units.value(mean, 0.01)} on average."
    if result.turned:
        text += " Below the time axis a strip shows when the motion sensor saw the wheel turn."
    if not result.holds:
        text += " No hold was found."
    count = len(result.findings)
    if count:
        text += f" {count} finding{'s' if count > 1 else ''}, listed below the picture."
    return text


def _times(count: int) -> str:
    return {1: "Once", 2: "Twice"}.get(count, f"{count} times")


def _view(trace: Trace, travel: Floats, result: EndPlayResult, units: Units) -> tuple[float, float]:
    """Return the range of travel to show: the work and every hold, not the setting up.

    A plunger that fell into a hole for a moment would make all else flat: such readings run along
    the picture's edge.
    """
    levels: list[float] = []
    if result.holds:
        begin_s, end_s = result.holds[0].start_s - 4, result.holds[-1].end_s
        levels = [level for _, level in _levels(trace, travel, result.holds)]
        inside = (trace.t_s >= begin_s) & (trace.t_s <= end_s)
        travel = travel[inside] if inside.any() else travel
    low, high = (float(edge) for edge in np.quantile(travel, [0.04, 0.96]))
    low, high = min([low, *levels]), max([high, *levels])
    room = 0.25 * max(high - low, _LEAST_MM * units.per_mm)
    return low - room, high + room


def _levels(
    trace: Trace, travel: Floats, holds: tuple[HoldResult, ...]
) -> Iterator[tuple[HoldResult, float]]:
    """Yield each hold with the level that the gauge showed, whatever its zero was then."""
    for hold in holds:
        inside = (trace.t_s >= hold.start_s) & (trace.t_s <= hold.end_s)
        if inside.any():
            yield hold, float(np.median(travel[inside]))


def _draw_holds(frame: Frame, trace: Trace, holds: tuple[HoldResult, ...]) -> None:
    """Shade the time of each hold, and write its side below."""
    first_s = float(trace.t_s[0])
    for hold in holds:
        left, right = frame.x.inside(hold.start_s - first_s), frame.x.inside(hold.end_s - first_s)
        top, bottom = frame.y.last, frame.y.first
        frame.canvas.add(
            "rect", f"{hold.side}-area", x=left, y=top, width=max(right - left, 1),
            height=bottom - top,
        )  # fmt: skip
        middle = ((left + right) / 2, bottom - 6)
        frame.canvas.text(hold.side, middle, hold.side, anchor="middle", size=11, bold=True)


def _draw_levels(frame: Frame, trace: Trace, travel: Floats, holds: tuple[HoldResult, ...]) -> None:
    first_s = float(trace.t_s[0])
    for hold, level in _levels(trace, travel, holds):
        left = frame.x.inside(hold.start_s - first_s)
        right = frame.x.inside(hold.end_s - first_s)
        frame.canvas.line(f"{hold.side}-line", (left, frame.y(level), right, frame.y(level)), 3.5)


def _draw_turned(frame: Frame, trace: Trace, turned: tuple[tuple[float, float], ...]) -> None:
    """Draw a strip below the time axis where a motion sensor saw the wheel turn."""
    first_s, last_s = float(trace.t_s[0]), float(trace.t_s[-1])
    y = frame.y.first + 2.5
    for start_s, end_s in turned:
        if end_s > first_s and start_s < last_s:
            left, right = frame.x.inside(start_s - first_s), frame.x.inside(end_s - first_s)
            frame.canvas.line("axis", (left, y, right, y), 5)
    if turned:
        frame.canvas.line("axis", (frame.x.first, y + 27, frame.x.first + 24, y + 27), 5)
        words = "the wheel turned, by the motion sensor"
        frame.canvas.text("quiet", (frame.x.first + 30, y + 31), words, size=11)


def _draw_findings(frame: Frame, findings: tuple[Finding, ...], first_s: float) -> None:
    """Number the findings along the top; neighbours stand lower so that they do not overlap."""
    before, row = -1e9, 0
    for number, finding in enumerate(findings, start=1):
        x = frame.x.inside(finding.at_s - first_s)
        row = (row + 1) % 5 if x - before < 18 else 0
        before = x
        y = frame.y.last + 10 + 19 * row
        frame.canvas.line("mark-line", (x, frame.y.last, x, frame.y.first), 1.2, "4 3")
        frame.canvas.add("circle", "mark", cx=x, cy=y, r=8.5)
        frame.canvas.text("mark-text", (x, y + 4), str(number), anchor="middle", size=11, bold=True)
