"""One wheel end over its life: its measurements in order, and what they say since the last setting.

Setting the nut begins anew: end play before it says nothing of what came after. So growth is looked
for only among the measurements since the nut was last set, as far as captures tell that it was.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from rockhold.library.facts import DAMAGED, NOT_REPRODUCED, SEALED
from rockhold.library.finding import Entry, Wanted, find
from rockhold.library.growth import Growth, growth_of
from rockhold.library.index import Library

FOUND = "found"  # before the nut was set, in a capture in which it was set
LEFT = "left"


@dataclass(frozen=True, slots=True)
class Point:
    """One measurement.

    Attributes:
        when: Its time, UTC.
        end_play_mm: What was measured.
        u_mm: Standard uncertainty.
        what: FOUND or LEFT.
        nut_set: Whether the nut was set just before: a new life begins.
        entry: Where it stands.
    """

    when: datetime
    end_play_mm: float
    u_mm: float
    what: str
    nut_set: bool
    entry: Entry

    @property
    def days(self) -> float:
        """The time in days since 1970."""
        return self.when.timestamp() / 86400.0


@dataclass(frozen=True, slots=True)
class Trend:
    """The life of a wheel end.

    Attributes:
        points: All measurements, the oldest first.
        since: Index of the first point of the present life.
        growth: Of the present life; None from too few measurements.
        left_out: Entries without a number that can be used, and why.
    """

    points: tuple[Point, ...]
    since: int
    growth: Growth | None
    left_out: tuple[tuple[Entry, str], ...]

    @property
    def vehicles(self) -> list[str]:
        """The vehicles that the entries name; of one wheel end it is one."""
        entries = [point.entry for point in self.points] + [entry for entry, _ in self.left_out]
        return list(
            {entry.columns["vehicle_key"]: entry.columns["vehicle"] for entry in entries}.values()
        )

    def to_json(self) -> dict[str, Any]:
        """Return the object that `library trend --json` prints."""
        growth = self.growth
        return {
            "points": [
                {
                    "at_utc": point.when.strftime("%Y-%m-%dT%H:%M:%SZ"),
                    "end_play_mm": point.end_play_mm,
                    "u_mm": point.u_mm,
                    "what": point.what,
                    "nut_set": point.nut_set,
                    "verdict": point.entry.columns["verdict"] or None,
                    "state": point.entry.columns["state"],
                    "file": point.entry.columns["path"],
                }
                for point in self.points
            ],
            "since_utc": None
            if not self.points
            else self.points[self.since].when.strftime("%Y-%m-%dT%H:%M:%SZ"),
            "growth_mm_per_year": growth and growth.slope_mm_per_year,
            "growth_expanded_mm_per_year": growth and growth.expanded_mm_per_year,
            "grows": growth and growth.grows,
            "left_out": [
                {"file": entry.columns["path"], "because": because}
                for entry, because in self.left_out
            ],
        }


def trend_of(library: Library, vehicle: str, wheel_end: str, since: date | None = None) -> Trend:
    """Return the life of a wheel end.

    Args:
        library: The index.
        vehicle: The vehicle's number.
        wheel_end: The wheel end.
        since: Look no further back than this day.
    """
    wanted = Wanted(vehicle=vehicle, wheel_end=wheel_end, since=since)
    return trend_from(find(library, wanted, oldest_first=True))


def trend_from(entries: Iterable[Entry]) -> Trend:
    """Return the life that entries in order of time tell."""
    points: list[Point] = []
    left_out: list[tuple[Entry, str]] = []
    known = list(entries)
    chosen = _one_of_each(known)
    for entry in known:
        because = _useless(entry)
        if not because and chosen[_capture(entry)] is not entry:
            because = "another file of a measurement that is here already"
        if because:
            left_out.append((entry, because))
        else:
            points += _points(entry)
    since = max((at for at, point in enumerate(points) if point.nut_set), default=0)
    life = points[since:]
    growth = growth_of(
        [point.days for point in life],
        [point.end_play_mm for point in life],
        [point.u_mm for point in life],
    )
    return Trend(tuple(points), since, growth, tuple(left_out))


def _one_of_each(entries: list[Entry]) -> dict[str, Entry]:
    """Return for each capture's id the file to take: a reviewed copy must not count twice."""
    chosen: dict[str, Entry] = {}
    for entry in entries:
        if not _useless(entry):
            before = chosen.setdefault(_capture(entry), entry)
            if before.columns["state"] != SEALED and entry.columns["state"] == SEALED:
                chosen[_capture(entry)] = entry
    return chosen


def _capture(entry: Entry) -> str:
    return str(entry.columns["capture"] or entry.columns["path"])


def _useless(entry: Entry) -> str:
    columns = entry.columns
    if columns["state"] in (DAMAGED, NOT_REPRODUCED):
        return "it is damaged" if columns["state"] == DAMAGED else "the readings do not give it"
    if columns["end_play_mm"] is None or not columns["u_mm"]:
        return "nothing was measured"
    return "" if _when(entry) else "it does not say when it was made"


def _points(entry: Entry) -> list[Point]:
    columns, when = entry.columns, _when(entry)
    assert when is not None
    left = Point(
        when, columns["end_play_mm"], columns["u_mm"], LEFT, bool(columns["nut_set"]), entry
    )
    if columns["found_mm"] is None or not columns["found_u_mm"]:
        return [left]
    found = Point(when, columns["found_mm"], columns["found_u_mm"], FOUND, False, entry)
    return [found, left]


def _when(entry: Entry) -> datetime | None:
    try:
        when = datetime.fromisoformat(entry.columns["opened_utc"])
    except ValueError:
        return None
    return when if when.tzinfo else when.replace(tzinfo=UTC)
