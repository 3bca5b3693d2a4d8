"""Looks up entries of the index."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import islice
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, Table, func, select

from rockhold.library.index import Library
from rockhold.library.names import key_of, pattern_of
from rockhold.library.tables import CAPTURES, FINDINGS, PEOPLE, TOOLS

_CHUNK = 500


@dataclass(frozen=True, slots=True)
class Wanted:
    """What somebody looks for; None where it does not matter.

    Attributes:
        vehicle: The vehicle's number; `*` stands for anything.
        wheel_end: The wheel end; `*` stands for anything.
        person: A part of a name.
        tool: A part of a tool's name or serial number.
        since: The first day, UTC.
        until: The last day, UTC.
        verdict: "accept", "reject", "undecided", or "none" where nothing was measured.
        finding: A finding's code.
        state: One of facts.STATES.
        review: "accept", "reject", or "none" where none was made.
        capture: A capture's id.
        verified: Only those that were verified whole.
    """

    vehicle: str | None = None
    wheel_end: str | None = None
    person: str | None = None
    tool: str | None = None
    since: date | None = None
    until: date | None = None
    verdict: str | None = None
    finding: str | None = None
    state: str | None = None
    review: str | None = None
    capture: str | None = None
    verified: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry: the columns of `captures`, and what belongs to it."""

    columns: dict[str, Any]
    people: tuple[dict[str, str], ...]
    findings: tuple[str, ...]
    tools: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """Return the object that `library find --json` prints."""
        hidden = ("id", "path", "vehicle_key", "wheel_end_key", "content")
        columns = {name: value for name, value in self.columns.items() if name not in hidden}
        return columns | {
            "file": self.columns["path"],
            "sha256": self.columns["content"],
            "verdict": self.columns["verdict"] or None,
            "people": list(self.people),
            "findings": list(self.findings),
            "tools": list(self.tools),
        }


def count(library: Library, wanted: Wanted) -> int:
    """Return how many entries there are."""
    with library.reading() as connection:
        found = connection.execute(
            select(func.count()).select_from(CAPTURES).where(*_conditions(wanted))
        ).scalar()
    return int(found or 0)


def find(
    library: Library, wanted: Wanted, most: int | None = None, oldest_first: bool = False
) -> Iterator[Entry]:
    """Yield entries, the newest first.

    Args:
        library: The index.
        wanted: Which.
        most: At most so many.
        oldest_first: The other way round.
    """
    columns = (CAPTURES.c.opened_utc, CAPTURES.c.id)
    order = columns if oldest_first else tuple(column.desc() for column in columns)
    query = select(CAPTURES).where(*_conditions(wanted)).order_by(*order).limit(most)
    with library.reading() as connection:
        yield from _entries(connection, query)


def _entries(connection: Connection, query: Select[Any]) -> Iterator[Entry]:
    rows = connection.execution_options(yield_per=_CHUNK).execute(query).mappings()
    coming = iter(rows)
    while chunk := list(islice(coming, _CHUNK)):
        ids = [row["id"] for row in chunk]
        people = _details(connection, PEOPLE, ids)
        findings = _details(connection, FINDINGS, ids)
        tools = _details(connection, TOOLS, ids)
        for row in chunk:
            at = row["id"]
            yield Entry(
                dict(row),
                tuple(
                    {name: one[name] for name in ("role", "name", "key", "signed_utc")}
                    for one in people.get(at, [])
                ),
                tuple(one["code"] for one in findings.get(at, [])),
                tuple(one["name"] for one in tools.get(at, [])),
            )


def _details(connection: Connection, table: Table, ids: Sequence[int]) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = {}
    for row in connection.execute(select(table).where(table.c.row.in_(ids))).mappings():
        found.setdefault(row["row"], []).append(row)
    return found


def _one_of(rows: Select[tuple[int]]) -> ColumnElement[bool]:
    # The sum keeps SQLite from fetching and sorting all of them for the sake of the first few: it
    # walks through the entries in order of time instead and looks each up here.
    return (CAPTURES.c.id + 0).in_(rows)


def _conditions(wanted: Wanted) -> list[ColumnElement[bool]]:
    conditions: list[ColumnElement[bool]] = []
    for name, column in (
        (wanted.vehicle, CAPTURES.c.vehicle_key),
        (wanted.wheel_end, CAPTURES.c.wheel_end_key),
    ):
        if name is not None and "*" in name:
            conditions.append(column.like(pattern_of(name), escape="\\"))
        elif name is not None:
            conditions.append(column == key_of(name))
    for part, table in ((wanted.person, PEOPLE), (wanted.tool, TOOLS)):
        if part is not None:
            pattern = f"%{pattern_of(part)}%"
            rows = select(table.c.row).where(table.c.name_key.like(pattern, escape="\\"))
            conditions.append(_one_of(rows))
    if wanted.finding is not None:
        rows = select(FINDINGS.c.row).where(FINDINGS.c.code == wanted.finding)
        conditions.append(_one_of(rows))
    if wanted.since is not None:
        conditions.append(CAPTURES.c.opened_utc >= wanted.since.isoformat())
    if wanted.until is not None:
        after = wanted.until + timedelta(days=1)
        conditions.append(CAPTURES.c.opened_utc < after.isoformat())
    if wanted.verified:
        conditions.append(CAPTURES.c.checked_utc != "")
    for word, column in (
        (wanted.verdict, CAPTURES.c.verdict),
        (wanted.review, CAPTURES.c.review),
        (wanted.state, CAPTURES.c.state),
        (wanted.capture, CAPTURES.c.capture),
    ):
        if word is not None:
            conditions.append(column == ("" if word == "none" else word))
    return conditions
