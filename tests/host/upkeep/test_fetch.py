"""Captures that the board took alone and a host fetches later; the real board program runs."""

import contextlib
import threading
import time

import pytest

from rockhold.capture.reader import read_capture
from rockhold.errors import BoardChangedError, CaptureFormatError
from rockhold.evidence.boardproof import check_records
from rockhold.links.serial_port import SerialLink
from rockhold.procedure.endplay import procedure_text
from rockhold.record.greeting import greet
from rockhold.record.header import Job
from rockhold.record.job import record
from rockhold.record.ways import Onlooker, Ways
from rockhold.simulator.unix_board import UnixBoard
from rockhold.upkeep.fetch import fetch, stored_captures
from rockhold.upkeep.upkeep import Upkeep
from rockwire import messages as m
from support import needs_micropython
from support_board import show_counts, wait_until
from support_trace import load_trace

pytestmark = needs_micropython
JOB = Job("", "end play", procedure_text())


@pytest.fixture
def home(tmp_path):
    (tmp_path / "flash").mkdir()
    return tmp_path


def board_at(home):
    return UnixBoard(secret_file=home / "secret", flash=home / "flash")


@contextlib.contextmanager
def talk_to(board):
    link = SerialLink(board.device)
    try:
        yield greet(link), Upkeep(link)
    finally:
        link.close()


def spool_files(home):
    return sorted(path.name for path in (home / "flash" / "spool").glob("*"))


def record_alone(board, home, counts, first_us=100_000):
    """Press, show, press; return the board's time. No host is there."""
    board.pass_time(first_us)
    board.press_button(first_us + 1_000)
    time.sleep(0.2)
    end_us = show_counts(board, counts, first_us + 50_000)
    board.press_button(end_us)
    wait_until(lambda: closed(board))
    return end_us


def closed(board):
    with talk_to(board) as (who, _):
        return who.state == m.READY


def fetched(board, home, stored):
    with talk_to(board) as (who, upkeep):
        path = fetch(upkeep, who, stored, home / "out", JOB)
    capture = read_capture(path)
    line_1 = path.read_bytes().split(b"\n")[0] + b"\n"
    return path, check_records(capture, line_1)


def test_a_capture_taken_alone_comes_whole_with_chain_and_seal(home):
    with board_at(home) as board:
        record_alone(board, home, range(150))
        (home / "out").mkdir()
        with talk_to(board) as (_, upkeep):
            (stored,) = stored_captures(upkeep)
        assert (stored.first, stored.fetched, stored.closed, stored.sealed) == (
            0,
            False,
            True,
            True,
        )
        path, proof = fetched(board, home, stored)
        assert proof.sealed
        assert not proof.header_bound  # nobody could know the header when the button was pressed
        assert load_trace(path).count.tolist() == list(range(150))
        with talk_to(board) as (_, upkeep):
            (stored,) = stored_captures(upkeep)
        assert stored.fetched


def test_it_outlives_a_pulled_battery_and_a_new_start(home):
    with board_at(home) as board:
        record_alone(board, home, range(40))
    with board_at(home) as board:  # the same flash, a fresh start
        record_alone(board, home, range(100, 130))
        with talk_to(board) as (_, upkeep):
            stored = list(stored_captures(upkeep))
        assert len(stored) == 2
        (home / "out").mkdir()
        counts = [load_trace(fetched(board, home, one)[0]).count.tolist() for one in stored]
        assert counts == [list(range(40)), list(range(100, 130))]


def test_a_battery_pulled_in_mid_capture_costs_its_end_only(home):
    with board_at(home) as board:
        board.pass_time(100_000)
        board.press_button(101_000)
        time.sleep(0.2)
        show_counts(board, range(100), 150_000, pace_s=0.01)
    with board_at(home) as board:
        with talk_to(board) as (_, upkeep):
            (stored,) = stored_captures(upkeep)
        assert (stored.closed, stored.sealed) == (False, False)
        (home / "out").mkdir()
        path, proof = fetched(board, home, stored)
        counts = load_trace(path).count.tolist()
        assert counts == list(range(len(counts)))
        assert 60 <= len(counts) <= 100
        assert not proof.sealed


def test_a_host_that_died_gets_the_rest_after_another_has_recorded(home):
    path = home / "out" / "mine.capture"
    (home / "out").mkdir()
    with board_at(home) as board:
        ways = Ways(lambda: SerialLink(board.device), wait_s=0.1)
        seen = []

        def die(message):
            seen.append(message)
            if len(seen) == 5:
                raise ConnectionError

        threading.Timer(0.3, show_counts, (board, range(200)), {"pace_s": 0.002}).start()
        with pytest.raises(ConnectionError):
            record(ways, JOB, path, Onlooker(die, lambda: False))
        wait_until(lambda: "000001.cap" in spool_files(home))
        time.sleep(1.5)
        board.press_button(200 * 72_000 + 200_000)
        wait_until(lambda: closed(board))
        begun = read_capture(path)
        record_alone(board, home, range(5), 20_000_000)
        with talk_to(board) as (_, upkeep):
            first, second = stored_captures(upkeep)
        assert first.first > 0
        whole, proof = fetched(board, home, first)
        assert whole == path
        assert proof.sealed
        assert len(begun.records) < len(read_capture(path).records)
        assert load_trace(path).count.tolist() == list(range(200))
        assert second.first == 0


def test_a_board_that_was_reset_in_mid_capture_is_told_at_once_and_nothing_on_disk_is_lost(home):
    port, path = home / "port", home / "out" / "mine.capture"
    begun = threading.Event()
    with board_at(home) as board, contextlib.ExitStack() as second:
        port.symlink_to(board.device)

        def reset():
            begun.wait(10)
            show_counts(board, range(100), pace_s=0.005)
            board.close()
            port.unlink()
            again = second.enter_context(board_at(home))  # the same flash, a fresh start
            port.symlink_to(again.device)

        worker = threading.Thread(target=reset)
        worker.start()
        onlooker = Onlooker(lambda message: begun.set(), lambda: False)
        with pytest.raises(BoardChangedError, match=r"was reset.*board fetch --folder .*seal"):
            record(Ways(lambda: SerialLink(str(port))), JOB, path, onlooker)
        worker.join()
        link = SerialLink(str(port))
        for stored in stored_captures(Upkeep(link)):
            fetch(Upkeep(link), greet(link), stored, path.parent, JOB)
        link.close()
    counts = load_trace(path).count.tolist()
    assert counts == list(range(len(counts)))
    assert len(counts) >= 50
    assert "was reset" in read_capture(path).of_kind("note")[-1]["because"]


def test_the_rest_of_somebody_elses_capture_is_named_not_mangled(home, tmp_path):
    with board_at(home) as board, talk_to(board) as (who, upkeep):
        from rockhold.upkeep.fetch import Stored

        stored = Stored(b"x" * 16, 7, 9, False, True, True)
        with pytest.raises(CaptureFormatError, match="its begin is in a file of the host"):
            fetch(upkeep, who, stored, tmp_path, JOB)
    assert not list(tmp_path.glob("*.capture"))


def test_what_a_live_host_takes_does_not_wear_the_flash(home):
    with board_at(home) as board:
        ways = Ways(lambda: SerialLink(board.device))
        begun = threading.Event()

        def show():
            begun.wait()
            end_us = show_counts(board, range(200), pace_s=0.003)
            board.press_button(end_us)

        worker = threading.Thread(target=show)
        worker.start()
        onlooker = Onlooker(lambda message: begun.set(), lambda: False)
        record(ways, JOB, home / "a.capture", onlooker)
        worker.join()
        time.sleep(0.5)
        assert spool_files(home) == []
