"""A curve over time with its axes: the one way in which readings of any kind are drawn."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rockhold.report.pictures.scale import Scale, ticks
from rockhold.report.pictures.svg import Canvas

Floats = NDArray[np.float64]

_GAP_STEPS = 8  # so many times the usual spacing without a reading is drawn as a gap


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a curve is drawn: canvas and both scales, in seconds and in the shown unit."""

    canvas: Canvas
    x: Scale
    y: Scale


def draw_axes(frame: Frame, title: str, most: int) -> None:
    """Draw a grid with its values, the seconds below, and what the values are above.

    Args:
        frame: Where to.
        title: What the values are, with their unit.
        most: At most so many lines of the grid.
    """
    canvas, x, y = frame.canvas, frame.x, frame.y
    for value, words in ticks(y.low, y.high, most):
        canvas.line("grid", (x.first, y(value), x.last, y(value)))
        canvas.text("quiet", (x.first - 6, y(value) + 4), words, anchor="end", size=11)
    for value, words in ticks(x.low, x.high, max(3, round(canvas.width / 80))):
        canvas.line("axis", (x(value), y.first, x(value), y.first + 4))
        canvas.text("quiet", (x(value), y.first + 17), words, anchor="middle", size=11)
    canvas.line("axis", (x.first, y.first, x.last, y.first))
    canvas.line("axis", (x.first, y.first, x.first, y.last))
    canvas.text("quiet", (4, 14), title, size=11)
    canvas.text("quiet", (x.last, y.first + 34), "seconds", anchor="end", size=11)


def draw_curve(frame: Frame, t_s: Floats, values: Floats) -> None:
    """Draw readings as a line, broken where readings are missing.

    Args:
        frame: Where to.
        t_s: Time of each reading, as the frame counts it.
        values: Each reading, in the frame's unit.
    """
    shown = np.clip(values, frame.y.low, frame.y.high)
    spacing = np.diff(t_s)
    usual = float(np.median(spacing)) if len(spacing) else 0.0
    cuts = np.flatnonzero(spacing > max(_GAP_STEPS * usual, 0.3)) + 1
    for part in np.split(np.arange(len(t_s)), cuts):
        keep = part[_thinned(frame.x(t_s[part]), shown[part])]  # type: ignore[arg-type]
        points = [
            f"{frame.x(float(t)):.1f} {frame.y(float(v)):.1f}"
            for t, v in zip(t_s[keep], shown[keep], strict=True)
        ]
        if len(points) == 1:
            x, y = points[0].split()
            frame.canvas.add("circle", "dot", cx=x, cy=y, r=1.2)
        else:
            path = "M" + " ".join(points)
            frame.canvas.add("path", "trace", d=path, fill="none", stroke_width=1)


def _thinned(x: Floats, y: Floats) -> NDArray[np.intp]:
    """Return which points to draw: of each pixel column the first, lowest, highest and last."""
    if len(x) < 2000:
        return np.arange(len(x))
    column = np.floor(x).astype(np.int64)
    starts = np.flatnonzero(np.diff(column, prepend=column[0] - 1))
    keep: set[int] = set()
    for begin, end in zip(starts, [*starts[1:], len(x)], strict=True):
        part = y[begin:end]
        keep |= {int(begin), int(end) - 1, int(begin + part.argmin()), int(begin + part.argmax())}
    return np.array(sorted(keep), dtype=np.intp)
