"""`rockhold library keep`: which captures the rule on keeping records allows to go."""

import csv
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from rockhold.cli import exits
from rockhold.cli.jsonline import json_line
from rockhold.cli.library_options import AS_JSON, DATE, INDEX
from rockhold.errors import UsageError
from rockhold.plain import plain

if TYPE_CHECKING:
    from rockhold.library.retention import Keep


@click.command()
@click.option(
    "--left",
    "said",
    multiple=True,
    metavar="VEHICLE=DATE",
    help="When a vehicle left the carrier's control, as 1207=2026-03-01. May be given repeatedly.",
)
@click.option(
    "--left-list",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="The same for many, as CSV with the columns vehicle,left.",
)
@click.option(
    "--months",
    type=click.IntRange(12),
    default=12,
    show_default=True,
    help="How long from the work on; reports of periodic inspections are kept 14 (396.21).",
)
@click.option(
    "--year-is-enough",
    is_flag=True,
    help="Let records of vehicles that have not left go after that time; the carrier's reading.",
)
@click.option("--today", type=DATE, help="Judge as on this day.")
@click.option("--all", "show_all", is_flag=True, help="List those that must be kept, too.")
@INDEX
@AS_JSON
def keep(
    said: tuple[str, ...],
    left_list: Path | None,
    months: int,
    year_is_enough: bool,
    today: datetime | None,
    show_all: bool,
    index: str | None,
    as_json: bool,
) -> int:
    """List the captures that need not be kept any longer. Nothing is ever deleted.

    49 CFR 396.3(c): one year where the vehicle is housed or maintained, and six months after it
    leaves the carrier's control; read here as the later of the two. The carrier answers for the
    reading; contracts, claims and other rules may ask for longer.

    Example: rockhold library keep --left 1207=2026-03-01
    """
    from rockhold.library.finding import Wanted, find
    from rockhold.library.index import open_library
    from rockhold.library.retention import judge_all

    left = dict(_left(said, left_list))
    day = today.date() if today else date.today()
    go = stay = 0
    met: set[str] = set()
    with open_library(index, must_exist=True) as library:
        entries = find(library, Wanted(), oldest_first=True)
        for kept in judge_all(entries, left, day, months, year_is_enough):
            met.add(kept.entry.columns["vehicle_key"])
            go += kept.may_go
            stay += not kept.may_go
            if kept.may_go or show_all:
                click.echo(_object(kept) if as_json else _in_words(kept))
    _say_unmet(left.keys() - met)
    if not as_json:
        click.echo(f"{go} may go, {stay} are to be kept. Nothing was deleted.")
    return exits.OK


def _say_unmet(keys: Iterable[str]) -> None:
    for key in keys:
        click.echo(
            f'No capture is of a vehicle called just "{key}", so nothing of it was judged as left; '
            f'`rockhold library find --vehicle "{key}"` lists those that begin so.',
            err=True,
        )


def _left(said: tuple[str, ...], left_list: Path | None) -> Iterator[tuple[str, date]]:
    from rockhold.library.names import key_of

    for text in said:
        vehicle, equals, day = text.rpartition("=")
        if not equals or not vehicle:
            raise UsageError(f"--left {text}: write it as VEHICLE=2026-03-01")
        yield key_of(vehicle), _date(day, f"--left {text}")
    if left_list is None:
        return
    try:
        with left_list.open(encoding="utf-8-sig", newline="") as file:
            rows = csv.DictReader(file)
            if not {"vehicle", "left"} <= set(rows.fieldnames or ()):
                raise UsageError(f"{left_list}: its first line must be vehicle,left")
            for row in rows:
                where = f"{left_list}, line {rows.line_num}"
                yield key_of(row["vehicle"] or ""), _date(row["left"] or "", where)
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise UsageError(f"{left_list} cannot be read: {error}") from error


def _date(text: str, where: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise UsageError(f"{where}: {text!r} is no date; write it as 2026-03-01") from error


def _object(kept: "Keep") -> str:
    columns = kept.entry.columns
    value = {
        "file": columns["path"],
        "vehicle": columns["vehicle"],
        "done": kept.done and kept.done.isoformat(),
        "keep_until": kept.until and kept.until.isoformat(),
        "because": kept.because,
        "may_go": kept.may_go,
    }
    return json_line(value)


def _in_words(kept: "Keep") -> str:
    columns = kept.entry.columns
    done = kept.done.isoformat() if kept.done else "no date   "
    verb = "may go" if kept.may_go else "keep"
    until = f" until {kept.until}" if kept.until else ""
    head = f"{done}  {plain(columns['vehicle']) or 'no vehicle named'}"
    return f"{head}: {verb}; kept{until}: {kept.because}\n    {plain(columns['path'])}"
