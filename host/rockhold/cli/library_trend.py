"""`rockhold library trend`: one wheel end over its life."""

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rockhold.cli import exits
from rockhold.cli.jsonline import json_line
from rockhold.cli.library_options import DATE, INDEX, counted, day_of, longer_name
from rockhold.cli.targets import FORCE, PICTURE_AS_WELL, must_take_picture
from rockhold.errors import LibraryError
from rockhold.measure.trace import MM_PER_INCH
from rockhold.plain import plain

if TYPE_CHECKING:
    from rockhold.library.index import Library
    from rockhold.library.trend import Point, Trend


@click.command()
@click.argument("vehicle")
@click.argument("wheel_end")
@click.option("--since", type=DATE, help="Look no further back than this day, UTC.")
@PICTURE_AS_WELL
@FORCE
@INDEX
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def trend(
    vehicle: str,
    wheel_end: str,
    since: datetime | None,
    out: Path | None,
    force: bool,
    index: str | None,
    as_json: bool,
) -> int:
    """Show the end play of one WHEEL_END of a VEHICLE over its life, and say if it grows.

    Growth is looked for among the measurements since the nut was last set, as far as the captures
    tell. It is the slope of a straight line, each measurement weighing 1/u²; it grows when the 95 %
    interval of the slope lies above zero.

    Example: rockhold library trend 1207 "axle 2, left" -o left.png
    """
    from rockhold.library.index import open_library

    must_take_picture(out, force)
    with open_library(index, must_exist=True) as library:
        life = _life(library, vehicle, wheel_end, day_of(since))
    click.echo(json_line(life.to_json()) if as_json else _trend_in_words(life))
    if out is not None:
        from rockhold.procedure.endplay import shipped_limits
        from rockhold.report.pictures.trend_plot import draw_trend

        limits = shipped_limits()
        band_mm = (limits.band_low_mm, limits.band_high_mm)
        draw_trend(life, band_mm, f"{vehicle}, {wheel_end}", out)
        if not as_json:
            click.echo(f"Picture: {out}")
    return exits.OK


def _life(library: "Library", vehicle: str, wheel_end: str, since: date | None) -> "Trend":
    """Return the life of the one wheel end that is meant.

    Raises:
        LibraryError: When there is none, or several are called so.
    """
    from rockhold.library.trend import trend_of

    life = trend_of(library, vehicle, wheel_end, since)
    longer = longer_name(vehicle)
    if longer and not life.vehicles:
        life = trend_of(library, longer, wheel_end, since)
    if len(life.vehicles) > 1:
        raise LibraryError(f"which vehicle is meant: {'; '.join(map(plain, life.vehicles))}?")
    if not life.vehicles:
        raise LibraryError(
            f"no capture of vehicle {vehicle}, {wheel_end}. `rockhold library find --vehicle "
            f'"{vehicle}*"` lists what there is'
        )
    return life


def _trend_in_words(life: "Trend") -> str:
    lines = [_point_in_words(point, at >= life.since) for at, point in enumerate(life.points)]
    lines += [
        f"  {plain(entry.columns['opened_utc'][:10])}  left out: {because} "
        f"({plain(entry.columns['path'])})"
        for entry, because in life.left_out
    ]
    return "\n".join([*lines, growth_words(life)])


def _point_in_words(point: "Point", counts: bool) -> str:
    half = 2.0 * point.u_mm / MM_PER_INCH
    if point.what == "left" and point.entry.columns["expanded_mm"] is not None:
        half = point.entry.columns["expanded_mm"] / MM_PER_INCH
    words = "as found" if point.what == "found" else point.entry.columns["verdict"] or "no verdict"
    nut = "  nut set" if point.nut_set else ""
    mark = "*" if counts else " "
    value = f"{point.end_play_mm / MM_PER_INCH:.5f} ± {half:.5f} in"
    return f"{mark} {point.when:%Y-%m-%d}  {value}  {words}{nut}"


def growth_words(life: "Trend") -> str:
    """Return what the measurements of the present life (marked *) say of growth."""
    growth = life.growth
    number = len(life.points) - life.since
    if growth is None:
        return (
            f"Growth: {counted(number, 'measurement')} (marked *): too few to say; it needs 3 at "
            "different times."
        )
    slope = growth.slope_mm_per_year / MM_PER_INCH
    half = growth.expanded_mm_per_year / MM_PER_INCH
    said = f"{slope:+.5f} ± {half:.5f} in a year (95 %, from the {number} marked *)"
    if growth.grows:
        return f"IT GROWS: {said}. Look at this wheel end before the next one is due."
    return f"Growth: {said}; that is no growth that can be told from the uncertainty."
