"""The picture of a trace: readings, holds, levels, findings, and the end play against its band.

Out is drawn solid with points up, in is drawn hatched with points down, so that the picture reads
without colour; the two colours (ochre and slate blue) differ for every common kind of colour
vision.
"""

from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rockhold.errors import RockholdError
from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.result import EndPlayResult, HoldResult
from rockhold.measure.trace import MM_PER_INCH, Trace

_THOU_PER_MM = 1000 / MM_PER_INCH
_INK = "#2b2b2b"
_QUIET = "#8a8a8a"
_COLOURS = {"out": "#b5651d", "in": "#3b5b84"}
_MARKS = {"out": "^", "in": "v"}
_BAND = "#d9d2b4"
_STYLE: Any = {  # matplotlib types its settings by name, one by one
    "svg.fonttype": "none",
    "font.size": 9,
    "axes.edgecolor": _INK,
    "axes.labelcolor": _INK,
    "axes.spines.top": False,
    "text.color": _INK,
}


def save_plot(
    path: Path, trace: Trace, result: EndPlayResult, limits: EndPlayLimits, title: str = ""
) -> None:
    """Draw a measured trace into a PNG or SVG file; the ending of its name says which.

    Raises:
        RockholdError: When the ending is another one, or the file cannot be written.
    """
    if path.suffix.lower() not in (".png", ".svg"):
        raise RockholdError(f"{path}: a picture is a .png or an .svg; name it so")
    with mpl.rc_context(_STYLE):
        figure = draw(trace, result, limits, title)
        try:
            figure.savefig(path, dpi=130)
        except OSError as error:
            raise RockholdError(f"cannot write {path}: {error.strerror}") from error


def draw(trace: Trace, result: EndPlayResult, limits: EndPlayLimits, title: str) -> Figure:
    """Return the figure; nothing is shown or written."""
    figure = Figure(figsize=(11, 5.4), layout="constrained")
    side, gauge = figure.subplots(1, 2, width_ratios=[6, 1])
    _draw_trace(side, trace, result)
    _draw_verdict(gauge, result, limits)
    figure.suptitle(title or "End play", x=0.01, ha="left", fontsize=11, fontweight="bold")
    figure.supxlabel(
        "The tool measures; people decide. A verdict is never permission to drive.",
        fontsize=8,
        color=_QUIET,
    )
    return figure


def _mm_of(thou: Any) -> Any:
    return thou / _THOU_PER_MM


def _thou_of(travel_mm: Any) -> Any:
    return travel_mm * _THOU_PER_MM


def _draw_trace(axes: Axes, trace: Trace, result: EndPlayResult) -> None:
    start_s = float(trace.t_s[0])
    axes.step(
        trace.t_s - start_s,
        trace.travel_mm * _THOU_PER_MM,
        where="post",
        color=_QUIET,
        linewidth=0.8,
        label="indication",
    )
    shift = _shift_to_indication(trace, result)
    for side in ("out", "in"):
        holds = [hold for hold in result.holds if hold.side == side]
        _draw_holds(axes, holds, side, start_s, shift)
    _draw_findings(axes, result, start_s)
    axes.set_xlabel("time, s")
    axes.set_ylabel("indication, thousandths of an inch")
    right = axes.secondary_yaxis("right", functions=(_mm_of, _thou_of))
    right.set_ylabel("mm")
    axes.margins(x=0.01, y=0.12)
    axes.legend(loc="upper left", ncols=3, frameon=False, fontsize=8)


def _shift_to_indication(trace: Trace, result: EndPlayResult) -> float:
    """Levels lie on the measurement's own coordinate; bring the first back to what was shown."""
    if not result.holds:
        return 0.0
    first = result.holds[0]
    inside = (trace.t_s >= first.start_s) & (trace.t_s <= first.end_s)
    return float(trace.travel_mm[inside].mean() - first.level_mm) if inside.any() else 0.0


def _draw_holds(
    axes: Axes, holds: list[HoldResult], side: str, start_s: float, shift: float
) -> None:
    for number, hold in enumerate(holds):
        level = (hold.level_mm + shift) * _THOU_PER_MM
        axes.plot(
            [hold.start_s - start_s, hold.end_s - start_s],
            [level, level],
            color=_COLOURS[side],
            linewidth=3,
            marker=_MARKS[side],
            markersize=5,
            linestyle="-" if side == "out" else (0, (2, 0.6)),
            label=f"held {side}" if number == 0 else None,
        )


def _draw_findings(axes: Axes, result: EndPlayResult, start_s: float) -> None:
    """Mark each finding with a line; its word stands along it, in three heights in turn."""
    for number, finding in enumerate(result.findings):
        at_s = finding.at_s - start_s
        axes.axvline(at_s, color=_INK, linewidth=0.8, linestyle=(0, (1, 2)))
        axes.annotate(
            finding.code.replace("_", " "),
            (at_s, 0.02 + 0.3 * (number % 3)),
            xycoords=("data", "axes fraction"),
            rotation=90,
            ha="left",
            va="bottom",
            fontsize=8,
        )


def _draw_verdict(axes: Axes, result: EndPlayResult, limits: EndPlayLimits) -> None:
    low, high = limits.band_low_mm * _THOU_PER_MM, limits.band_high_mm * _THOU_PER_MM
    axes.axhspan(low, high, color=_BAND)
    axes.set_xlim(0, 1)
    axes.set_xticks([])
    axes.set_ylabel("end play, thousandths of an inch")
    axes.yaxis.set_label_position("right")
    axes.yaxis.tick_right()
    axes.spines["left"].set_visible(False)
    axes.spines["bottom"].set_visible(False)
    top = high * 1.3
    if result.end_play_mm is not None and result.expanded_mm is not None:
        value, expanded = result.end_play_mm * _THOU_PER_MM, result.expanded_mm * _THOU_PER_MM
        axes.errorbar([0.5], [value], [expanded], color=_INK, fmt="D", markersize=6, capsize=8)
        axes.set_title(f"{value:.2f} ± {expanded:.2f}\n{result.verdict}", fontsize=10)
        top = max(top, (value + expanded) * 1.1)
    else:
        axes.set_title("not\nmeasured", fontsize=10)
    axes.set_ylim(min(0.0, low), top)
    axes.annotate("band", (0.06, high), va="top", fontsize=8, color=_QUIET)
