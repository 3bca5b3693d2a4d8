"""What the self-test makes of what a board says about itself."""

import pytest

from rockhold.upkeep.check import FAULT, OK, check_board
from rockwire import upkeep as u

REFUSED = 2


class HeardEnough(Exception):  # noqa: N818 (not an error)
    """Nothing but the board's health is of interest here."""


class Board:
    """Says how it is, and nothing else."""

    def __init__(self, settings, words):
        sizes = (90_000, 100_000, 800_000, 600_000)
        self._health = u.HealthReply(1, settings, *sizes, 0, 0, 1, 0, words.encode())

    def ask(self, answer, command, *fields):
        """Answer the question about its health."""
        if command is u.Health:
            return self._health
        raise HeardEnough


def findings(settings, words):
    found = {}
    with pytest.raises(HeardEnough):
        for row in check_board(Board(settings, words)):
            found[row.what] = row
    return found


def test_a_radio_that_does_not_start_is_no_fault_of_the_settings():
    found = findings(0, "the radio does not start: 22")
    assert (found["settings"].state, found["settings"].seen) == (OK, "stored")
    assert (found["radio"].state, found["radio"].seen) == (FAULT, "the radio does not start: 22")
    assert "records all the same" in found["radio"].look


def test_settings_that_cannot_be_used_are_a_fault_of_theirs():
    found = findings(REFUSED, "beeper: must be true or false, is 1")
    assert found["settings"].state == FAULT
    assert "beeper" in found["settings"].seen
    assert "rockhold board settings" in found["settings"].look
    assert "radio" not in found


def test_a_healthy_board_has_no_row_for_its_radio():
    assert "radio" not in findings(0, "")
