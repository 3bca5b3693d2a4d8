"""The sentence: says the verdict, what would settle it, and what is missing."""

import pytest

from rockhold.measure.budget import BudgetRow
from rockhold.measure.limits import GaugeFacts
from rockhold.measure.words import in_words, largest_cause, what_settles
from rockhold.procedure.endplay import shipped_limits

LIMITS = shipped_limits()


def row(cause, u):
    return BudgetRow(cause, u, "normal", 1.0, 5.0, "test")


def test_largest_cause():
    assert largest_cause((row("a", 1), row("b", 3), row("c", 2))).cause == "b"


@pytest.mark.parametrize(
    ("cause", "words"),
    [
        ("resolution of the gauge", "finer count"),
        ("repeatability of the holds", "More cycles"),
        ("limit of error of the gauge", "smaller limit of error"),
        ("tilt of the plunger", "Line the plunger up"),
    ],
)
def test_what_settles(cause, words):
    assert words in what_settles(row(cause, 1.0), 1.0)
    assert "on the limit" in what_settles(row(cause, 1.0), 0.1)


@pytest.mark.parametrize(
    ("verdict", "value", "words"),
    [
        ("accept", 0.08, "within the tolerance band"),
        ("reject", 0.01, "below the band"),
        ("reject", 0.2, "above the band"),
        ("undecided", 0.126, "undecided"),
    ],
)
def test_sentence(verdict, value, words):
    text = in_words(value, 0.003, verdict, LIMITS, GaugeFacts(), row("resolution", 0.001))
    assert words in text
    assert "certificate" in text
    told = in_words(value, 0.003, verdict, LIMITS, GaugeFacts(0.002), row("resolution", 0.001))
    assert "certificate" not in told


def told(value, verdict, expanded=0.003, u=0.001, faulty=True):
    cause = row("resolution of the gauge", u)
    return in_words(value, expanded, verdict, LIMITS, GaugeFacts(0.002), cause, faulty)


def test_the_sentence_as_a_whole():
    # 0.254 mm are 10 thousandths of an inch, exactly.
    assert told(0.254, "accept") == (
        "End play 0.01000 in (0.2540 mm), give or take 0.00012 in (0.0030 mm): "
        "within the tolerance band."
    )


@pytest.mark.parametrize("value", [LIMITS.band_low_mm, 0.08, LIMITS.band_high_mm])
def test_a_rejected_value_inside_the_band_is_outside_the_acceptance_limits(value):
    assert told(value, "reject").endswith(" mm): outside the acceptance limits.")


@pytest.mark.parametrize(
    ("value", "within"),
    [
        (LIMITS.band_low_mm + 0.003, True),
        (LIMITS.band_high_mm - 0.003, True),
        (LIMITS.band_low_mm + 0.0029, False),
        (LIMITS.band_high_mm - 0.0029, False),
    ],
)
def test_undecided_within_the_guarded_band_sends_to_the_findings(value, within):
    # Nothing of the number forbids acceptance there, so what forbids it is something found.
    assert told(value, "undecided").endswith("mend what was found, then measure again.") == within
    assert ("finer count" in told(value, "undecided")) != within
    # Or a doubt, which is said behind it.
    doubted = told(value, "undecided", faulty=False)
    assert doubted.endswith("undecided, though within the band.") == within


@pytest.mark.parametrize("limit", [LIMITS.band_low_mm, LIMITS.band_high_mm])
@pytest.mark.parametrize(("away", "words"), [(0.0004, "on the limit"), (0.0006, "finer count")])
def test_the_nearer_limit_says_whether_a_measurement_can_decide(limit, away, words):
    for value in (limit - away, limit + away):
        assert words in told(value, "undecided", u=0.002)


def test_a_quarter_of_the_cause_away_is_not_on_the_limit():
    assert "on the limit" not in what_settles(row("resolution", 1.0), 0.25)
