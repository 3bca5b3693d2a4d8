"""One sheet with all that is drawn of a measurement, for `rockhold plot` and the demo.

title and number ── trace ── torque, if any ── end play against the band ── findings in words
"""

import textwrap
from pathlib import Path

from rockhold.capture.torque import TorqueTrace
from rockhold.errors import ReportError
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.result import EndPlayResult
from rockhold.measure.trace import Trace
from rockhold.report.pictures.band_picture import draw_band
from rockhold.report.pictures.svg import Canvas, describe, new_picture, text_of
from rockhold.report.pictures.torque_picture import draw_torque, torque_words
from rockhold.report.pictures.trace_picture import description, draw_trace
from rockhold.report.units import US, Units
from rockhold.report.words import answer, barred, finding_words

_WIDTH, _EDGE, _LINE = 900.0, 16.0, 18.0
_TRACE_HEIGHT, _TORQUE_HEIGHT, _BAND_HEIGHT = 420.0, 240.0, 112.0
_LETTERS = 118  # so many fit in a line
_MOST_FINDINGS = 12


def draw(
    trace: Trace,
    result: EndPlayResult,
    limits: EndPlayLimits,
    title: str,
    units: Units = US,
    torque: TorqueTrace | None = None,
) -> Canvas:
    """Return the sheet.

    Args:
        trace: The readings; an empty one where only torque was read.
        result: What measure_trace made of them.
        limits: The procedure's limits, for the band.
        title: Usually the name of the file.
        units: In which everything is shown.
        torque: The torque of the same job, None where nothing read any.
    """
    head = textwrap.wrap(answer(result, limits, units), _LETTERS)
    found = _found_lines(trace, result, units, torque)
    middle = 0.0 if torque is None else _TORQUE_HEIGHT
    top = 2 * _EDGE + _LINE * (len(head) + 1)
    height, band = (_TRACE_HEIGHT, _BAND_HEIGHT) if len(trace) else (0.0, 0.0)
    below = top + height + middle + band
    sheet = new_picture(_WIDTH, below + _LINE * len(found) + 2 * _EDGE, "sheet")
    sheet.add("rect", "mark-text", width=_WIDTH, height=sheet.height)  # white paper
    sheet.text("ink", (_EDGE, _EDGE + 10), title, size=14, bold=True)
    _write(sheet, head, _EDGE + 10 + _LINE)
    inner = _WIDTH - 2 * _EDGE
    if len(trace):
        draw_trace(sheet.part(_EDGE, top, inner, _TRACE_HEIGHT), trace, result, units)
    top += height
    if torque is not None:
        draw_torque(sheet.part(_EDGE, top, inner, middle), torque, units, trace)
    if len(trace):
        draw_band(sheet.part(_EDGE, top + middle, inner, _BAND_HEIGHT), result, limits, units)
    _write(sheet, found, below + _EDGE)
    describe(sheet, "sheet", title, description(trace, result, units))
    return sheet


def save(sheet: Canvas, path: Path) -> None:
    """Write a sheet as PNG or SVG, by the ending of the path.

    Raises:
        ReportError: When the disk refuses.
    """
    if path.suffix.lower() == ".svg":
        data = b'<?xml version="1.0" encoding="UTF-8"?>\n' + text_of(sheet).encode()
    else:
        from rockhold.report.pdf import png_of  # brings the page setter: only who needs it waits

        data = png_of(text_of(sheet))
    try:
        path.write_bytes(data)
    except OSError as error:
        raise ReportError(f"{path}: cannot write: {error.strerror}") from error


def _write(sheet: Canvas, lines: list[str], y: float) -> None:
    for line in lines:
        sheet.text("ink", (_EDGE, y), line, size=12)
        y += _LINE


def _found_lines(
    trace: Trace, result: EndPlayResult, units: Units, torque: TorqueTrace | None
) -> list[str]:
    pulls = [] if torque is None else textwrap.wrap(torque_words(torque, units), _LETTERS)
    return [*pulls, *_finding_lines(trace, result, units)]


def _finding_lines(trace: Trace, result: EndPlayResult, units: Units) -> list[str]:
    doubt = textwrap.wrap(result.doubt, _LETTERS) if barred(result) else []
    if not result.findings:
        return ["No findings.", *doubt]
    begin_s = float(trace.t_s[0]) if len(trace) else 0.0
    lines: list[str] = []
    for number, finding in enumerate(result.findings[:_MOST_FINDINGS], start=1):
        words = finding_words(finding, result, units)
        lines += textwrap.wrap(
            f"{number}  at {finding.at_s - begin_s:.1f} s: {words}", _LETTERS,
            subsequent_indent="     ",
        )  # fmt: skip
    more = len(result.findings) - _MOST_FINDINGS
    return [*lines, *([f"and {more} more"] if more > 0 else []), *doubt]
