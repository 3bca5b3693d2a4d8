"""`rockhold library find`: captures that fit what is asked for."""

from dataclasses import replace
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
    counted,
    day_of,
    end_play_words,
    is_trusted,
    longer_name,
    people_words,
    state_words,
)
from rockhold.errors import UsageError
from rockhold.evidence.keys import stored_keys
from rockhold.evidence.trust import Trust, trust_of
from rockhold.measure.findings import TEXTS
from rockhold.plain import plain

if TYPE_CHECKING:
    from rockhold.library.finding import Entry

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
    for name in ("since", "until"):
        wanted[name] = day_of(wanted[name])
    looked_for = Wanted(**wanted)
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
