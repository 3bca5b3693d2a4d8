"""How long captures are kept. Source: 49 CFR 396.3(c), as its reprints read; the dates that follow
from it, and that the later day counts, are our own working out."""

from datetime import date

import pytest

from rockhold.library.finding import Entry
from rockhold.library.retention import add_months, judge_all, keep_until

DONE = date(2026, 1, 15)


@pytest.mark.parametrize(
    ("left", "until"),
    [
        (None, date(2027, 1, 15)),
        (date(2026, 3, 1), date(2027, 1, 15)),  # six months end first: the year counts
        (date(2027, 1, 1), date(2027, 7, 1)),  # the year ends first: the six months count
    ],
)
def test_the_later_of_the_year_and_the_six_months_counts(left, until):
    assert keep_until(DONE, left) == until


@pytest.mark.parametrize(
    ("day", "months", "later"),
    [
        (date(2024, 2, 29), 12, date(2025, 3, 1)),  # kept a day longer rather than shorter
        (date(2026, 8, 31), 6, date(2027, 3, 1)),
        (date(2026, 12, 15), 14, date(2028, 2, 15)),
        (date(2026, 10, 31), 2, date(2026, 12, 31)),
        (date(2026, 9, 30), 12, date(2027, 9, 30)),
    ],
)
def test_months_are_those_of_the_calendar(day, months, later):
    assert add_months(day, months) == later


def entry(opened_utc="2026-01-15T09:00:00Z", state="sealed", vehicle_key="1207"):
    return Entry({"opened_utc": opened_utc, "state": state, "vehicle_key": vehicle_key}, (), (), ())


def may_go(today, left=None, one=None, **options):
    vehicles = {"1207": left} if left else {}
    (kept,) = judge_all([one or entry()], vehicles, today, **options)
    return kept.may_go


def test_the_last_day_itself_still_counts():
    left = date(2026, 3, 1)
    assert not may_go(date(2027, 1, 15), left)
    assert may_go(date(2027, 1, 16), left)


def test_while_a_vehicle_is_here_nothing_of_it_goes_unless_the_carrier_says_so():
    assert not may_go(date(2040, 1, 1))
    assert may_go(date(2027, 1, 16), year_is_enough=True)
    assert not may_go(date(2027, 1, 16), year_is_enough=True, months=14)


def test_what_is_damaged_or_has_no_date_never_goes():
    left, today = date(2026, 3, 1), date(2040, 1, 1)
    for one in (entry(state="damaged"), entry(state="not_reproduced"), entry(opened_utc="soon")):
        assert not may_go(today, left, one)
