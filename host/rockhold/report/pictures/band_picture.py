"""Draw the end play with its interval against the tolerance band."""

from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.result import EndPlayResult
from rockhold.report.pictures.scale import Scale, ticks
from rockhold.report.pictures.svg import Canvas, describe, new_picture
from rockhold.report.units import Units

WIDE = (760.0, 112.0)
NARROW = (360.0, 112.0)
_EDGE = 20.0


def band_picture(
    result: EndPlayResult,
    limits: EndPlayLimits,
    units: Units,
    size: tuple[float, float],
    name: str,
) -> Canvas:
    """Return the picture of a measured end play; the unit is that of `units`."""
    canvas = new_picture(*size, name)
    draw_band(canvas, result, limits, units)
    describe(canvas, name, "The end play against the band", description(result, limits, units))
    return canvas


def description(result: EndPlayResult, limits: EndPlayLimits, units: Units) -> str:
    """Say in words what the picture shows."""
    text = (
        f"The tolerance band goes from {units.plain(limits.band_low_mm)} to "
        f"{units.plain(limits.band_high_mm)} {units.length}."
    )
    if result.end_play_mm is None or result.expanded_mm is None:
        return text
    low, high = result.end_play_mm - result.expanded_mm, result.end_play_mm + result.expanded_mm
    return text + (
        f" The end play is {units.value(result.end_play_mm, result.expanded_mm)}; its 95 % interval"
        f" goes from {units.value(low, result.expanded_mm)}"
        f" to {units.value(high, result.expanded_mm)}."
    )


def draw_band(canvas: Canvas, result: EndPlayResult, limits: EndPlayLimits, units: Units) -> None:
    """Draw on a canvas, which may be a part of a larger picture."""
    low, high = limits.band_low_mm * units.per_mm, limits.band_high_mm * units.per_mm
    first, last = 0.0, high * 1.25
    value = half = None
    if result.end_play_mm is not None and result.expanded_mm is not None:
        value, half = result.end_play_mm * units.per_mm, result.expanded_mm * units.per_mm
        first, last = min(first, value - 1.2 * half), max(last, value + 1.2 * half)
    x = Scale(first, last, _EDGE, canvas.width - _EDGE)
    top, bottom = 24.0, 72.0
    canvas.add("rect", "band", x=x(low), y=top, width=x(high) - x(low), height=bottom - top)
    for limit in (low, high):
        canvas.line("band-line", (x(limit), top - 4, x(limit), bottom), 2)
    middle = (x.inside((low + high) / 2), 14.0)
    canvas.text("accept", middle, "tolerance band", anchor="middle", size=11)
    if result.accept_mm is not None and result.accept_mm[0] < result.accept_mm[1]:
        for limit in result.accept_mm:
            at = x(limit * units.per_mm)
            canvas.line("band-line", (at, top, at, bottom), 1, "2 3")
    _draw_scale(canvas, x, bottom, units)
    if value is not None and half is not None:
        _draw_value(canvas, x, (value, half), result.verdict or "undecided")


def _draw_scale(canvas: Canvas, x: Scale, y: float, units: Units) -> None:
    canvas.line("axis", (x.first, y, x.last, y))
    for value, words in ticks(x.low, x.high, max(4, round(canvas.width / 70))):
        canvas.line("axis", (x(value), y, x(value), y + 4))
        canvas.text("quiet", (x(value), y + 17), words, anchor="middle", size=11)
    canvas.text("quiet", (x.last, y + 34), f"end play, {units.length}", anchor="end", size=11)


def _draw_value(canvas: Canvas, x: Scale, interval: tuple[float, float], verdict: str) -> None:
    """Draw the value as a diamond and its interval as a bar with ends."""
    value, half = interval
    y, line = 48.0, f"{verdict}-line"
    canvas.line(line, (x(value - half), y, x(value + half), y), 2.5)
    for end in (value - half, value + half):
        canvas.line(line, (x(end), y - 8, x(end), y + 8), 2.5)
    at = x(value)
    corners = (
        f"M{at:.1f} {y - 8:.1f} L{at + 8:.1f} {y:.1f} L{at:.1f} {y + 8:.1f} L{at - 8:.1f} {y:.1f} Z"
    )
    canvas.add("path", verdict, d=corners)
