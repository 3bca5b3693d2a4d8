"""Draw the end play of one wheel end over its life."""

from pathlib import Path

from rockhold.library.trend import Trend
from rockhold.measure.trace import MM_PER_INCH
from rockhold.report.charts import BLUE, GREEN, GREY, ORANGE, save_chart

# TMC RP 618A: 0.001 to 0.005 in, as in the shipped procedure.
_BAND_IN = (0.001, 0.005)
_MARK = {"accept": "o", "reject": "X", "undecided": "D"}


def draw_trend(life: Trend, title: str, path: Path) -> None:
    """Write the picture: every measurement with its 95 % interval, the line of the present life.

    Verdicts differ by the shape of the mark, so that the picture also serves without colours.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(10, 5), layout="constrained")
    axes = figure.add_subplot()
    axes.axhspan(*_BAND_IN, color=GREEN, alpha=0.13, label="0.001 to 0.005 in")
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
            axes.axvline(point.days, color=GREY, lw=1.0, ls=":")
    if life.growth is not None:
        ends = (life.points[life.since], life.points[-1])
        axes.plot(
            [point.days for point in ends],
            [life.growth.line_mm(point.days) / MM_PER_INCH for point in ends],
            color=ORANGE,
            lw=2,
            label="it grows" if life.growth.grows else "no growth that can be told",
        )
    axes.xaxis_date()  # days since 1970 are how matplotlib counts, too
    axes.set_ylabel("end play / in, with its 95 % interval")
    axes.set_title(title, loc="left")
    axes.legend(loc="best", fontsize=9)
    axes.grid(alpha=0.25, lw=0.5)
    figure.autofmt_xdate()
    save_chart(figure, path)
