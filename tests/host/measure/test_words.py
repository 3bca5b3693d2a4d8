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
