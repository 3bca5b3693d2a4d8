"""Draw the torque over the time of a trace, with each pull's peak."""

import numpy as np

from rockhold.capture.torque import TorqueTrace
from rockhold.measure.trace import Trace
from rockhold.plain import plain
from rockhold.report.pictures.curve import Frame, draw_axes, draw_curve
from rockhold.report.pictures.scale import Scale
from rockhold.report.pictures.svg import Canvas, describe, new_picture
from rockhold.report.units import Units

_LEFT, _RIGHT, _TOP, _BOTTOM = 52.0, 10.0, 34.0, 42.0
_ROOM = 0.12  # above the highest peak, of its height
_WIDE, _HIGH = 28.0, 14.0  # room that a number takes
_LEAST_NM = 10.0  # torque that hardly moves is not blown up beyond this


WIDE = (760.0, 240.0)
NARROW = (360.0, 240.0)


def torque_picture(
    torque: TorqueTrace, units: Units, trace: Trace | None, size: tuple[float, float], name: str
) -> Canvas:
    """Return the picture of a capture's torque.

    Args:
        torque: Readings and pulls.
        units: In which to show them.
        trace: The indicator's readings, so that both pictures begin together; None without any.
        size: Width and height in pixels.
        name: Makes the picture's ids differ from those of others on a page.
    """
    canvas = new_picture(*size, name)
    draw_torque(canvas, torque, units, trace)
    describe(canvas, name, "The torque over time", torque_words(torque, units))
    return canvas


def draw_torque(canvas: Canvas, torque: TorqueTrace, units: Units, trace: Trace | None) -> None:
    """Draw on a canvas, which may be a part of a larger picture.

    Args:
        canvas: Where to.
        torque: Readings and pulls.
        units: In which to show them.
        trace: The indicator's readings, so that both pictures begin together.
    """
    channel = torque.channel
    first_us, last_us = int(channel.t_us[0]), int(channel.t_us[-1])
    if trace is not None and len(trace):
        # A guided job pulls long before it measures: seconds never count from below zero.
        first_us, last_us = min(first_us, int(trace.t_us[0])), max(last_us, int(trace.t_us[-1]))
    t_s = (channel.t_us - first_us) / 1e6
    values = channel.value * units.per_nm
    low = min(0.0, float(np.quantile(values, 0.001)))
    high = max(float(values.max()), _LEAST_NM * units.per_nm)
    frame = Frame(
        canvas,
        Scale(0.0, max((last_us - first_us) / 1e6, 1e-3), _LEFT, canvas.width - _RIGHT),
        Scale(low, high + _ROOM * (high - low), canvas.height - _BOTTOM, _TOP),
    )
    draw_axes(frame, f"torque, {units.torque}, with the peak of each pull", 5)
    draw_curve(frame, t_s, values)
    written: list[tuple[float, float]] = []
    for pull in torque.pulls:
        x = frame.x.inside((pull.peak_us - first_us) / 1e6)
        y = frame.y.inside((pull.peak_nm + pull.zero_nm) * units.per_nm)
        words = f"{pull.peak_nm * units.per_nm:.0f}"
        canvas.add("circle", "out", cx=x, cy=y, r=3)
        # A number that has no room is left out: all of them stand in the words and the tables.
        if all(abs(x - at) >= _WIDE or abs(y - height) >= _HIGH for at, height in written):
            canvas.text("out", (x, y - 7), words, anchor="middle", size=11, bold=True)
            written.append((x, y))


def torque_words(torque: TorqueTrace, units: Units) -> str:
    """Say in words what the picture shows."""
    count = len(torque.pulls)
    if not count:
        return f"{_whose(torque)}: no pull."
    peaks = ", ".join(f"{pull.peak_nm * units.per_nm:.1f}" for pull in torque.pulls)
    words = "1 pull, peak" if count == 1 else f"{count} pulls, peaks"
    return f"{_whose(torque)}: {words} {peaks} {units.torque}."


def _whose(torque: TorqueTrace) -> str:
    name = plain(torque.channel.name)
    return "Torque" if name == "torque" else f"Torque ({name})"
