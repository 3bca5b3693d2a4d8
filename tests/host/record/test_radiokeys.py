"""The radio's keys on this computer, and the counter that never goes back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rockhold.errors import KeyStoreError, NoBoardError
from rockhold.record.radiokeys import FURTHEST, RadioGuard
from rockwire import messages as m
from rockwire.guard import Guard

KEY, BOARD = bytes(range(32)), b"boardid8"
UTC_US = 1_790_000_000_000_000


@pytest.fixture
def folder(tmp_path):
    (tmp_path / f"{BOARD.hex()}.key").write_text(KEY.hex() + "\n")
    return tmp_path


def met(folder, utc_us=lambda: UTC_US):
    guard = RadioGuard(folder, utc_us)
    guard.meet(BOARD)
    return guard


def board():
    return Guard(KEY, BOARD, 0, lambda counter: None)


def test_before_the_board_is_met_everything_passes(folder):
    assert RadioGuard(folder).wrap(m.Hello(1)) == m.Hello(1)
    assert RadioGuard(folder).wrap(m.Stop(1)) == m.Stop(1)


def test_the_board_obeys_and_questions_need_no_wrapper_but_hello(folder):
    guard, taken = met(folder), board()
    for message in (m.Hello(1), m.Stop(2), m.Ack(b"1234", 3)):
        wrapped = guard.wrap(message)
        assert isinstance(wrapped, m.Guarded)
        assert taken.admit(wrapped) == (message, None)
    assert guard.wrap(m.Clock(4, 5)) == m.Clock(4, 5)


@given(st.lists(st.integers(0, 1 << 52), min_size=1, max_size=20))
def test_the_counter_rises_whatever_the_clock_and_restarts_do(tmp_path_factory, clocks):
    folder = tmp_path_factory.mktemp("keys")
    (folder / f"{BOARD.hex()}.key").write_text(KEY.hex())
    last = -1
    for utc_us in clocks:
        guard = met(folder, lambda utc_us=utc_us: utc_us)  # a new start of the program
        for _ in range(3):
            counter = guard.wrap(m.Stop(1)).counter
            assert counter > last
            last = counter


def test_a_board_that_is_further_is_believed_and_overtaken(folder):
    guard = met(folder)
    guard.wrap(m.Stop(1))
    guard.learn(m.Stale(1, UTC_US * 2))
    assert guard.wrap(m.Stop(1)).counter > UTC_US * 2
    assert met(folder).wrap(m.Stop(1)).counter > UTC_US * 2


@pytest.mark.parametrize("counter", [FURTHEST, (1 << 64) - 1])
def test_nobody_talks_a_host_into_spending_the_counter(folder, counter):
    guard = met(folder)
    with pytest.raises(NoBoardError, match="used up"):
        guard.learn(m.Stale(1, counter))
    assert guard.wrap(m.Stop(1)).counter == UTC_US


def test_a_folder_that_cannot_be_written_to_costs_no_recording(folder):
    (folder / f"{BOARD.hex()}.counter").mkdir()  # nothing can take its place
    guard, taken = met(folder), board()
    assert taken.admit(guard.wrap(m.Stop(1)))[0] == m.Stop(1)


@pytest.mark.parametrize("text", ["", "12", "zz" * 32, "00" * 31, "ü"])
def test_a_key_that_cannot_be_used_is_named(folder, text):
    (folder / f"{BOARD.hex()}.key").write_text(text, encoding="utf-8")
    with pytest.raises(KeyStoreError, match=BOARD.hex()):
        met(folder)


def test_no_key_says_what_to_do(tmp_path):
    with pytest.raises(NoBoardError, match="rockhold board setup"):
        met(tmp_path / "none")
