"""Draw the end play of one wheel end over its life."""

from pathlib import Path
from typing import TYPE_CHECKING

from rockhold.library.growth import Growth
from rockhold.library.trend import Trend
from rockhold.measure.trace import MM_PER_INCH
from rockhold.report.pictures.charts import BLUE, GREEN, GREY, ORANGE, save_chart

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_MARK = {"accept": "o", "reject": "X", "undecided": "D"}


def draw_trend(life: Trend, band_mm: tuple[float, float], title: str, path: Path) -> None:
    """Write the picture: every measurement with its 95 % interval, the line of the present life.

    Args:
        life: The measurements.
        band_mm: The tolerance band.
        title: Which wheel end.
        path: Where to, .png or .svg.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(10, 5), layout="constrained")
    axes = figure.add_subplot()
    low, high = (edge / MM_PER_INCH for edge in band_mm)
    axes.axhspan(low, high, color=GREEN, alpha=0.13, label=f"{low:g} to {high:g} in")
    _draw_points(axes, life)
    if life.growth is not None:
        _draw_growth(axes, life, life.growth)
    axes.xaxis_date()  # days since 1970 are how matplotlib counts, too
    axes.set_ylabel("end play / in, with its 95 % interval")
    axes.set_title(title, loc="left")
    axes.legend(loc="best", fontsize=9)
    axes.grid(alpha=0.25, lw=0.5)
    figure.autofmt_xdate()
    save_chart(figure, path)


def _draw_points(axes: "Axes", life: Trend) -> None:
    """Draw the measurements; verdicts differ by their mark, so that no colour is needed."""
    seen: set[str] = set()
    for at, point in enumerate(life.points):
        verdict = "as found" if point.what == "found" else point.entry.columns["verdict"] or "none"
        axes.errorbar(
            [point.days],
            [point.end_play_mm / MM_PER_INCH],
            yerr=[2.0 * point.u_mm / MM_PER_INCH],
            fmt=_MARK.get(verdict, "s"),
            color=BLUE if at >= life.since else GREY,
            capsize=4,
            label=None if verdict in seen else verdict,
        )
        seen.add(verdict)
        if point.nut_set:
            label = None if "nut set" in seen else "nut set"
            axes.axvline(point.days, color=GREY, lw=1.0, ls=":", label=label)
            seen.add("nut set")


def _draw_growth(axes: "Axes", life: Trend, growth: Growth) -> None:
    ends = (life.points[life.since], life.points[-1])
    axes.plot(
        [point.days for point in ends],
        [growth.line_mm(point.days) / MM_PER_INCH for point in ends],
        color=ORANGE,
        lw=2,
        label="it grows" if growth.grows else "no growth that can be told",
    )
