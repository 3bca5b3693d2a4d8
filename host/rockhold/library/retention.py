"""Which captures the rule on keeping records allows to go; nothing here deletes anything.

49 CFR 396.3(c): the records of inspection, repair and maintenance are kept where the vehicle is
housed or maintained for one year, and for six months after the vehicle leaves the carrier's
control. Read here as: until the later of the two. While a vehicle has not left, its
six months have not begun, so nothing of it may go; whoever reads the rule as "one year is enough
while it is here" can say so. The carrier answers for the reading, and other rules may ask for
longer.
"""

import calendar
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from rockhold.library.facts import DAMAGED, NOT_REPRODUCED
from rockhold.library.finding import Entry

YEAR_MONTHS = 12
AFTER_LEAVING_MONTHS = 6


@dataclass(frozen=True, slots=True)
class Keep:
    """How long a capture is kept.

    Attributes:
        entry: The capture.
        done: The day of the work, None when the capture does not say.
        until: The last day to keep it, None when that is not known.
        because: Why, in words.
        may_go: Whether that day is over.
    """

    entry: Entry
    done: date | None
    until: date | None
    because: str
    may_go: bool


def keep_until(done: date, left: date | None, months: int = YEAR_MONTHS) -> date:
    """Return the last day on which a record must be kept.

    Args:
        done: The day of the work.
        left: When the vehicle left the carrier's control, None if it has not.
        months: How long from the work on.

    Source: 49 CFR 396.3(c); that the later day counts is our reading.

    >>> keep_until(date(2026, 1, 15), date(2027, 1, 1)).isoformat()
    '2027-07-01'
    """
    until = add_months(done, months)
    return until if left is None else max(until, add_months(left, AFTER_LEAVING_MONTHS))


def add_months(day: date, months: int) -> date:
    """Return the same day some months later; where that month is too short, the day after it."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    month += 1
    if day.day > calendar.monthrange(year, month)[1]:
        year, month = divmod(year * 12 + month, 12)
        return date(year, month + 1, 1)
    return date(year, month, day.day)


def judge_all(
    entries: Iterable[Entry],
    left: Mapping[str, date],
    today: date,
    months: int = YEAR_MONTHS,
    year_is_enough: bool = False,
) -> Iterator[Keep]:
    """Say of each entry how long it is kept.

    Args:
        entries: Captures.
        left: When each vehicle left the carrier's control, by its name's key.
        today: The day to compare with.
        months: How long from the work on.
        year_is_enough: Let records of vehicles that have not left go after that time.
    """
    for entry in entries:
        yield _judge(entry, left.get(entry.columns["vehicle_key"]), today, months, year_is_enough)


def _judge(entry: Entry, left: date | None, today: date, months: int, year_is_enough: bool) -> Keep:
    if entry.columns["state"] in (DAMAGED, NOT_REPRODUCED):
        return Keep(entry, None, None, "something is wrong with it; look at it first", False)
    try:
        done = date.fromisoformat(entry.columns["opened_utc"][:10])
    except ValueError:
        return Keep(entry, None, None, "it does not say when the work was done", False)
    until = keep_until(done, left, months)
    if left is None and not year_is_enough:
        return Keep(entry, done, None, "its vehicle is not said to have left", False)
    if left is None:
        because = f"{months} months from the work on"
    elif until > add_months(done, months):
        because = f"{AFTER_LEAVING_MONTHS} months from the vehicle's leaving on {left}"
    else:
        because = f"{months} months from the work on; the vehicle left on {left}"
    return Keep(entry, done, until, because, today > until)
