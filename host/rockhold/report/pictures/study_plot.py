"""Draw a study: every trial by wheel end and person, and the parts of the variation."""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rockhold.measure.trace import MM_PER_INCH
from rockhold.report.pictures.charts import GREEN, GREY, save_chart
from rockhold.study.study import TOTAL, Study

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# Okabe and Ito's palette; people also differ by their mark.
_COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9")
_MARKS = ("o", "s", "^", "D", "v", "P")


def draw_study(study: Study, path: Path) -> None:
    """Write the picture."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(11, 5), layout="constrained")
    left, right = figure.subplots(1, 2, width_ratios=(3, 2))
    _draw_trials(left, study)
    _draw_parts(right, study)
    save_chart(figure, path)


def _draw_trials(axes: "Axes", study: Study) -> None:
    table = study.table
    low, high = (edge / MM_PER_INCH for edge in study.band_mm)
    axes.axhspan(low, high, color=GREEN, alpha=0.12, label=f"{low:g} to {high:g} in")
    width = 0.7 / len(table.people)
    for at, person in enumerate(table.people):
        values_in = table.values_mm[at] / MM_PER_INCH
        places = np.arange(len(table.wheel_ends)) + (at - (len(table.people) - 1) / 2) * width
        colour, mark = _COLOURS[at % len(_COLOURS)], _MARKS[at % len(_MARKS)]
        for trial in values_in.T:
            axes.plot(places, trial, ls="", ms=4, alpha=0.7, color=colour, marker=mark)
        axes.plot(places, values_in.mean(axis=1), lw=1, color=colour)
        axes.plot([], [], ls="-", label=person, color=colour, marker=mark)
    axes.set_xticks(np.arange(len(table.wheel_ends)), table.wheel_ends, rotation=30, ha="right")
    axes.set_ylabel("end play / in; lines join each person's means")
    axes.legend(fontsize=8)
    axes.grid(alpha=0.25, lw=0.5)


def _draw_parts(axes: "Axes", study: Study) -> None:
    parts = [part for part in study.parts if part.name != TOTAL]
    for at, part in enumerate(parts):
        s_in = part.s_mm / MM_PER_INCH
        axes.barh(at, s_in, color="#9db7cc", height=0.55)
        if part.low_mm is not None and part.high_mm is not None:
            ends = [part.low_mm / MM_PER_INCH, part.high_mm / MM_PER_INCH]
            axes.plot(ends, [at, at], color=GREY, marker="|", ms=10, lw=2)
        axes.text(0.0, at + 0.33, f" {part.of_band_percent:.0f} % of the band (6 s)", fontsize=8)
    axes.set_yticks(range(len(parts)), [part.name for part in parts])
    axes.invert_yaxis()
    # An interval from two people can be many times as long as all bars: it may leave the picture.
    axes.set_xlim(0, 3.0 * max(part.s_mm for part in study.parts) / MM_PER_INCH or 1.0)
    axes.set_xlabel("standard deviation / in, with its 95 % interval")
    axes.grid(alpha=0.25, lw=0.5, axis="x")
