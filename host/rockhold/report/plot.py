"""Draw a trace with its holds, levels, tolerance band and findings.

Sides differ by colour, hatching and label, findings by number, so that the picture also serves
without colours. Matplotlib is imported only here.
"""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rockhold.measure.limits import EndPlayLimits
from rockhold.measure.result import EndPlayResult, Finding
from rockhold.measure.trace import MM_PER_INCH, Trace

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import ArrayLike, NDArray

# Blue and orange of Okabe and Ito's palette stay apart for every common colour blindness.
SIDE_COLOUR = {"out": "#0072B2", "in": "#D55E00"}
SIDE_HATCH = {"out": "//", "in": "\\\\"}
TRACE_COLOUR = "#3b3b3b"
FINDING_COLOUR = "#8b1a62"
BAND_COLOUR = "#009E73"
VERDICT_COLOUR = {"accept": "#00664b", "reject": "#9c2a00", "undecided": "#7a5c00"}

_UM = 1000.0


def draw(trace: Trace, result: EndPlayResult, limits: EndPlayLimits, title: str) -> "Figure":
    """Return a figure of a trace and what was measured in it.

    Args:
        trace: The readings.
        result: What measure_trace made of them.
        limits: The procedure's limits, for the band.
        title: Usually the name of the file.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(11, 6.4), layout="constrained")
    grid = figure.add_gridspec(2, 2, height_ratios=(5, 1.2), width_ratios=(1, 1))
    axes = figure.add_subplot(grid[0, :])
    _draw_trace(axes, trace, result)
    _draw_band(figure.add_subplot(grid[1, 0]), result, limits)
    _draw_findings(figure.add_subplot(grid[1, 1]), result.findings)
    axes.set_title(title, loc="left", fontsize=11)
    axes.set_title(_headline(result), loc="right", fontsize=12, fontweight="bold")
    return figure


def save(figure: "Figure", path: Path) -> None:
    """Write a figure as PNG or SVG, by the ending of the path."""
    figure.savefig(path, dpi=110)


def _headline(result: EndPlayResult) -> str:
    if result.end_play_mm is None or result.expanded_mm is None:
        return "not measured"
    return (
        f"end play {result.end_play_mm:.4f} ± {result.expanded_mm:.4f} mm"
        f"  ({result.end_play_mm / MM_PER_INCH:.5f} in)  {result.verdict}"
    )


def _view(trace: Trace, result: EndPlayResult) -> tuple[float, float]:
    """Return the range of travel to show, in µm: the work, not the setting up."""
    travel = trace.travel_mm * _UM
    if not len(travel):
        return -1.0, 1.0
    if result.holds:
        inside = (trace.t_s >= result.holds[0].start_s - 4) & (trace.t_s <= result.holds[-1].end_s)
        travel = travel[inside] if inside.any() else travel
    low, high = (float(edge) for edge in np.quantile(travel, [0.01, 0.99]))
    room = 0.25 * max(high - low, 4.0)
    return low - room, high + room


def _draw_trace(axes: "Axes", trace: Trace, result: EndPlayResult) -> None:
    from matplotlib.ticker import FuncFormatter

    travel_um = trace.travel_mm * _UM
    axes.plot(trace.t_s, travel_um, color=TRACE_COLOUR, lw=0.7, marker=".", ms=2.5, zorder=3)
    low, high = _view(trace, result)
    axes.set_ylim(low, high)
    if len(trace):
        axes.set_xlim(trace.t_s[0], trace.t_s[-1])
    _draw_holds(axes, trace, result)
    _draw_marks(axes, result.findings, low, high)
    axes.set_xlabel("time / s")
    axes.set_ylabel("indication / µm")
    right = axes.secondary_yaxis("right", functions=(_thousandths, _micrometres))
    right.set_ylabel("thousandths of an inch")
    right.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.grid(alpha=0.25, lw=0.5)


def _thousandths(um: "ArrayLike") -> "NDArray[np.float64]":
    return np.asarray(um, dtype=np.float64) / 25.4


def _micrometres(thou: "ArrayLike") -> "NDArray[np.float64]":
    return np.asarray(thou, dtype=np.float64) * 25.4


def _draw_holds(axes: "Axes", trace: Trace, result: EndPlayResult) -> None:
    """Draw each hold at the level that the gauge showed, whatever its zero was then."""
    low, high = axes.get_ylim()
    t_s, travel_um = trace.t_s, trace.travel_mm * _UM
    for hold in result.holds:
        colour = SIDE_COLOUR[hold.side]
        axes.axvspan(
            hold.start_s, hold.end_s, facecolor=colour, alpha=0.13, hatch=SIDE_HATCH[hold.side],
            edgecolor=colour, lw=0, zorder=1,
        )  # fmt: skip
        inside = (t_s >= hold.start_s) & (t_s <= hold.end_s)
        if inside.any():
            level_um = float(np.median(travel_um[inside]))
            axes.hlines(level_um, hold.start_s, hold.end_s, color=colour, lw=3.0, zorder=4)
        place = low + 0.02 * (high - low)
        axes.text(
            0.5 * (hold.start_s + hold.end_s), place, hold.side, color=colour, ha="center",
            fontsize=9, fontweight="bold", zorder=5,
        )  # fmt: skip


def _draw_marks(axes: "Axes", findings: tuple[Finding, ...], low: float, high: float) -> None:
    """Number the findings along the top; neighbours stand lower so that they do not overlap."""
    first_s, last_s = axes.get_xlim()
    before_s, row = -1e9, 0
    for number, finding in enumerate(findings, start=1):
        row = (row + 1) % 4 if finding.at_s - before_s < 0.02 * (last_s - first_s) else 0
        before_s = finding.at_s
        axes.axvline(finding.at_s, color=FINDING_COLOUR, lw=1.1, ls=(0, (4, 3)), zorder=2)
        axes.text(
            finding.at_s, high - (0.05 + 0.07 * row) * (high - low), str(number), color="white",
            fontsize=9, fontweight="bold", ha="center", va="center", zorder=6, clip_on=False,
            bbox={"boxstyle": "circle", "facecolor": FINDING_COLOUR, "edgecolor": "white"},
        )  # fmt: skip


def _draw_band(axes: "Axes", result: EndPlayResult, limits: EndPlayLimits) -> None:
    """Draw the end play with its interval against the tolerance band, in µm."""
    low, high = limits.band_low_mm * _UM, limits.band_high_mm * _UM
    axes.axvspan(low, high, color=BAND_COLOUR, alpha=0.15)
    edges = [0.0, high * 1.25]
    for limit in (low, high):
        axes.axvline(limit, color=BAND_COLOUR, lw=1.5)
        axes.text(limit, 0.93, f"{limit:.0f}", ha="center", va="top", fontsize=8)
    if result.accept_mm is not None and result.accept_mm[0] < result.accept_mm[1]:
        for limit in result.accept_mm:
            axes.axvline(limit * _UM, color=BAND_COLOUR, lw=1.0, ls=":")
    if result.end_play_mm is not None and result.expanded_mm is not None:
        value, half = result.end_play_mm * _UM, result.expanded_mm * _UM
        colour = VERDICT_COLOUR.get(result.verdict or "", TRACE_COLOUR)
        axes.errorbar(value, 0.4, xerr=half, fmt="D", color=colour, ms=7, capsize=6, lw=2)
        edges = [min(0.0, value - 1.2 * half), max(edges[1], value + 1.2 * half)]
    axes.set_xlim(*edges)
    axes.set_ylim(0, 1)
    axes.set_yticks([])
    axes.set_xlabel("end play / µm: tolerance band, acceptance limits (dotted), 95 % interval")
    axes.xaxis.label.set_fontsize(8.5)


def _draw_findings(axes: "Axes", findings: tuple[Finding, ...]) -> None:
    axes.set_axis_off()
    lines = [f"{i}  {f.at_s:.2f} s  {f.code}" for i, f in enumerate(findings, start=1)]
    if len(lines) > 10:
        lines = [*lines[:9], f"and {len(lines) - 9} more"]
    half = 5
    for column, part in enumerate((lines[:half], lines[half:])):
        axes.text(
            0.02 + 0.5 * column, 0.98, "\n".join(part) or ("no findings" if not column else ""),
            va="top", fontsize=9, color=FINDING_COLOUR if lines else BAND_COLOUR,
            transform=axes.transAxes, linespacing=1.35,
        )  # fmt: skip
