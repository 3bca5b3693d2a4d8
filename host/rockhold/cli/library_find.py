"""`rockhold library find` and `trend`: look captures up, follow one wheel end."""

from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from rockhold.cli import exits
from rockhold.cli.complete import FINDINGS, KEYS, TOOLS
from rockhold.cli.jsonline import json_line
from rockhold.cli.library_options import (
    AS_JSON,
    DATE,
    INDEX,
    end_play_words,
    is_trusted,
    people_words,
    state_words,
)
from rockhold.cli.targets import FORCE, PICTURE_AS_WELL, must_take_picture
from rockhold.errors import LibraryError, UsageError
from rockhold.evidence.keys import stored_keys
from rockhold.evidence.trust import Trust, trust_of
from rockhold.measure.findings import TEXTS
from rockhold.measure.trace import MM_PER_INCH
from rockhold.plain import plain

if TYPE_CHECKING:
    from rockhold.library.finding import Entry
    from rockhold.library.index import Library
    from rockhold.library.trend import Point, Trend

_SHOWN = 50


@click.command()
@click.option(
    "--vehicle",
    help="Number of the vehicle, or how it begins up to a space or comma; * stands for anything.",
)
@click.option("--wheel-end", help="The wheel end, as it was recorded; * stands for anything.")
@click.option(
    "--person",
    shell_complete=KEYS,
    help="Name, or a part of it, of a technician or reviewer.",
)
@click.option(
    "--tool", shell_complete=TOOLS, help="Name, id or serial number of a tool, or a part of it."
)
@click.option("--since", type=DATE, help="First day, UTC, as 2026-11-25.")
@click.option("--until", type=DATE, help="Last day, UTC.")
@click.option("--verdict", type=click.Choice(["accept", "reject", "undecided", "none"]))
@click.option(
    "--finding", shell_complete=FINDINGS, help="Code of a finding, as drifting or tool_overdue."
)
@click.option(
    "--state",
    type=click.Choice(["sealed", "unsealed", "not_reproduced", "damaged", "unreadable"]),
    help="What was found of the file itself.",
)
@click.option("--review", type=click.Choice(["accept", "reject", "none"]), help="Last review.")
@click.option("--verified", is_flag=True, help="Only captures that were verified whole.")
@click.option("--most", type=click.IntRange(1), help=f"At most so many [{_SHOWN}; JSON: all].")
@INDEX
@AS_JSON
def find(index: str | None, as_json: bool, most: int | None, **wanted: Any) -> int:
    """List the captures that fit all options, the newest first.

    What is listed is what the files said when they were added. "sealed" means that the signatures
    of board and people fit; whether you trust their keys is asked anew each time. "verified" means
    that the result was computed anew as well (`library add --verify`).

    Example: rockhold library find --vehicle 1207 --verdict reject
    """
    from rockhold.library.finding import Wanted, count
    from rockhold.library.finding import find as entries
    from rockhold.library.index import open_library

    finding = wanted["finding"]
    if finding is not None and finding not in TEXTS:
        raise UsageError(f'no finding is called "{finding}"; there are {", ".join(sorted(TEXTS))}')
    days = {name: _day(wanted.pop(name)) for name in ("since", "until")}
    looked_for = Wanted(**wanted, **days)
    trust = trust_of(stored_keys())
    with open_library(index, must_exist=True) as library:
        limit = most or (None if as_json else _SHOWN)
        longer = longer_name(looked_for.vehicle)
        if longer and not count(library, Wanted(vehicle=looked_for.vehicle)):
            looked_for = replace(looked_for, vehicle=longer)
            if count(library, looked_for):
                click.echo(f'No vehicle is called just "{wanted["vehicle"]}"; so begin:', err=True)
        shown = 0
        for entry in entries(library, looked_for, limit):
            shown += 1
            click.echo(_object(entry, trust) if as_json else _in_words(entry, trust))
        if not as_json:
            total = count(library, looked_for)
            more = f"; {total - shown} more, see --most" if total > shown else ""
            click.echo(f"{counted(total, 'capture')} found{more}.")
    return exits.OK


def longer_name(vehicle: str | None) -> str:
    """Return what finds "R-104, tractor" for "R-104"; "" where nothing longer is meant."""
    return "" if vehicle is None or "*" in vehicle else f"{vehicle} *"


def counted(number: int, what: str) -> str:
    """Return "1 capture", "2 captures"."""
    return f"{number} {what}" + ("" if number == 1 else "s")


def _day(value: datetime | None) -> Any:
    return None if value is None else value.date()


def _changed_since(entry: "Entry") -> bool:
    columns = entry.columns
    try:
        stat = Path(columns["path"]).stat()
    except OSError:
        return True
    return (stat.st_size, stat.st_mtime_ns) != (columns["size_bytes"], columns["mtime_ns"])


def _object(entry: "Entry", trust: Trust) -> str:
    value = entry.to_json()
    value["people"] = [one | {"trusted": is_trusted(one, trust)} for one in value["people"]]
    return json_line(value)


def _in_words(entry: "Entry", trust: Trust) -> str:
    columns = entry.columns
    what = ", ".join(plain(columns[name]) for name in ("vehicle", "wheel_end") if columns[name])
    head = f"{plain(columns['opened_utc'][:10]) or 'no date'}  {what or 'no vehicle named'}"
    verdict = columns["verdict"] or "no verdict"
    lines = [f"{head}: {verdict}, {end_play_words(columns)}"]
    if entry.findings:
        lines.append("findings: " + ", ".join(dict.fromkeys(map(plain, entry.findings))))
    review = f"; review: {columns['review']}" if columns["review"] else ""
    lines.append(f"{people_words(entry, trust) or 'nobody named'}; {state_words(columns)}{review}")
    if columns["problem"]:
        lines.append(plain(columns["problem"]))
    since = "  (not there, or changed, since it was added)" if _changed_since(entry) else ""
    lines.append(plain(columns["path"]) + since)
    return "\n    ".join(lines)


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
        life = _life(library, vehicle, wheel_end, _day(since))
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
