"""Options and words that the commands of `rockhold library` share."""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import click

from rockhold.measure.trace import MM_PER_INCH
from rockhold.plain import plain

if TYPE_CHECKING:
    from rockhold.evidence.trust import Trust
    from rockhold.library.finding import Entry

INDEX = click.option(
    "--index",
    metavar="PATH|URL",
    help="Where the index is: a file, or postgresql://…; else ROCKHOLD_INDEX, else ROCKHOLD_HOME.",
)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object per line.")
DATE = click.DateTime(["%Y-%m-%d"])

Command = Callable[..., Any]


def end_play_words(columns: Mapping[str, Any]) -> str:
    """Return an entry's end play in inches."""
    if columns["end_play_mm"] is None:
        return "not measured"
    value = columns["end_play_mm"] / MM_PER_INCH
    if columns["expanded_mm"] is None:
        return f"{value:.5f} in"
    return f"{value:.5f} ± {columns['expanded_mm'] / MM_PER_INCH:.5f} in"


def people_words(entry: "Entry", trust: "Trust") -> str:
    """Return who is named, and what can be said of their keys now."""
    parts = []
    for person in entry.people:
        name = plain(person["name"]) or "nobody"
        if not person["key"]:
            parts.append(f"{name} (named, not sealed)")
        elif not is_trusted(person, trust):
            parts.append(f"{name} (key not trusted here)")
        else:
            parts.append(name)
    return ", ".join(parts)


def is_trusted(person: Mapping[str, str], trust: "Trust") -> bool:
    """Say whether the key that sealed is trusted by the user of this computer now."""
    from rockhold.evidence.trust import judge

    return bool(person["key"]) and (
        judge(trust, person["key"], person["role"], person["signed_utc"]).trusted
    )


def state_words(columns: Mapping[str, Any]) -> str:
    """Return what was found of a file, and how well it was looked at."""
    checked = str(columns["checked_utc"])[:10]
    state = str(columns["state"]).replace("_", " ")
    if columns["state"] in ("damaged", "unreadable"):
        return state
    return f"{state}, verified {checked}" if checked else f"{state}, not verified"


def longer_name(vehicle: str | None) -> str:
    """Return what finds "R-104, tractor" for "R-104"; "" where nothing longer is meant."""
    return "" if vehicle is None or "*" in vehicle else f"{vehicle} *"


def counted(number: int, what: str) -> str:
    """Return "1 capture", "2 captures"."""
    return f"{number} {what}" + ("" if number == 1 else "s")


def day_of(value: datetime | None) -> date | None:
    """Return the day of an option, None where it was not given."""
    return None if value is None else value.date()
