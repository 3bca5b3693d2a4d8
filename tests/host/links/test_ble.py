"""Recording over radio, and everything that goes wrong on the way: real bleak, real ATT, and the
board's own program. The stacks are software (radio_air.py)."""

import threading

import pytest

from radio_air import Air, BoardStack
from radio_bench import RadioBench
from rockhold.capture.reader import read_capture
from rockhold.errors import LinkLostError, NoBoardError
from rockhold.links.ble import BleLink
from rockhold.links.radio_scan import find, scan
from rockhold.record.greeting import greet
from rockhold.record.job import resume
from rockhold.record.radiokeys import RadioGuard
from rockhold.record.ways import Onlooker, Ways
from rockwire import messages as m
from support import needs_micropython
from support_board import show_counts, wait_until
from support_trace import load_trace

pytestmark = needs_micropython


@pytest.fixture
def air():
    with Air() as air:
        yield air


def showing(board, counts, pace_s=0.002, then=lambda: None):
    """What lets the board see counts and presses its button."""

    def show():
        t_us = show_counts(board, counts, pace_s=pace_s)
        then()
        board.press_button(t_us)

    return show


def notes_of(path):
    return [note["note"] for note in read_capture(path).of_kind("note")]


@pytest.mark.parametrize(("host_mtu", "longest"), [(23, 20), (185, 182), (517, 182)])
def test_a_capture_over_radio_is_whole_at_every_mtu(tmp_path, host_mtu, longest):
    path = tmp_path / "a.capture"
    with Air(host_mtu) as air, RadioBench(air, tmp_path) as board:
        outcome, _ = board.record(path, showing(board, range(200)))
        lengths = air.stack.lengths
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(200))
    assert notes_of(path) == []
    assert max(lengths) == longest if host_mtu == 23 else max(lengths) <= longest
    if host_mtu >= 185:  # one line in one piece: the seal's is the longest that there was
        assert max(lengths) > 100


def test_a_stack_that_agrees_to_the_largest_mtu(tmp_path, monkeypatch):
    monkeypatch.setattr(BoardStack, "most_mtu", 517)
    with Air(517) as air, RadioBench(air, tmp_path) as board:
        path = tmp_path / "a.capture"
        outcome, _ = board.record(path, showing(board, range(100)))
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(100))


def test_out_of_reach_again_and_again_loses_nothing(tmp_path, air):
    path = tmp_path / "a.capture"
    with RadioBench(air, tmp_path) as board:
        records = []

        def stored(message):
            records.append(message)
            if len(records) in (4, 7, 9):
                air.run(lose(air))

        outcome, words = board.record(path, showing(board, range(300)), stored=stored)
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(300))
    notes = notes_of(path)
    assert notes == ["link_lost", "link_back"] * (len(notes) // 2)
    assert len(notes) >= 4  # several records may be stored at once, before the loss is seen
    assert 'The board is back on radio "bay 3"' in words[1]


async def lose(air):
    air.stack.lose()


def test_within_reach_again_it_goes_on_at_once(tmp_path, air):
    path = tmp_path / "a.capture"
    with RadioBench(air, tmp_path) as board:

        def show():
            t_us = show_counts(board, range(100), pace_s=0.002)
            air.run(air.stack.go())
            t_us = show_counts(board, range(100, 300), t_us, pace_s=0.01)
            air.run(air.stack.come_back())
            board.press_button(t_us)

        outcome, _ = board.record(path, show)
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(300))
    assert notes_of(path) == ["link_lost", "link_back"]


def test_begun_over_radio_and_gone_on_over_the_cable(tmp_path, air):
    path = tmp_path / "a.capture"
    with RadioBench(air, tmp_path) as board:
        ways = [board.connect, board.cable]
        lost = []

        def stored(message):
            if isinstance(message, m.Readings) and not lost:
                lost.append(True)
                air.run(lose(air))

        outcome, _ = board.record(
            path, showing(board, range(300)), lambda: ways.pop(0)(), stored=stored
        )
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(300))
    back = next(n for n in read_capture(path).of_kind("note") if n["note"] == "link_back")
    assert back["over"] == board.device


def test_a_new_host_goes_on_over_radio_where_a_dead_one_was(tmp_path, air):
    path = tmp_path / "a.capture"
    with RadioBench(air, tmp_path) as board:

        class DiedError(Exception):
            pass

        def die(message):
            if isinstance(message, m.Readings):
                raise DiedError

        shown = threading.Event()

        def show():
            show_counts(board, range(100))
            shown.set()

        with pytest.raises(DiedError):
            board.record(path, show, stored=die)
        assert shown.wait(30)
        board.press_button(100_000_000)
        outcome = resume(Ways(board.connect), path, Onlooker(lambda message: None, lambda: False))
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(100))


def test_notifications_that_arrive_twice_are_recognised(tmp_path, air):
    path = tmp_path / "a.capture"
    with RadioBench(air, tmp_path) as board:
        wait_until(lambda: air.stacks)
        air.stack.doubled = True
        outcome, _ = board.record(path, showing(board, range(200)))
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(200))
    assert [line.packet for line in read_capture(path).records] == [
        *dict.fromkeys(line.packet for line in read_capture(path).records)
    ]


def test_a_full_queue_delays_and_loses_nothing(tmp_path, air):
    path = tmp_path / "a.capture"
    waiting = []

    async def release():
        waiting.append(air.stack.waiting)
        air.stack.held = False
        await air.stack.let_go()

    with RadioBench(air, tmp_path) as board:

        def show():
            t_us = show_counts(board, range(100), pace_s=0.002)
            air.stack.held = True
            t_us = show_counts(board, range(100, 300), t_us, pace_s=0.003)
            air.run(release())
            board.press_button(t_us)

        outcome, _ = board.record(path, show)
    assert outcome.board_sealed
    assert load_trace(path).count.tolist() == list(range(300))
    assert notes_of(path) == []
    assert waiting == [8]  # all that the stack has room for


def test_a_connection_that_breaks_while_it_is_set_up(tmp_path, air):
    with RadioBench(air, tmp_path) as board:
        wait_until(lambda: air.stacks)
        for _ in range(3):
            air.stack.drops_at_once = 1
            with pytest.raises(NoBoardError):
                greet(board.connect())
        link = board.connect()
        assert greet(link).name == "bay 3"
        link.close()


def test_a_board_that_dies_is_a_lost_link_at_once(tmp_path, air):
    with RadioBench(air, tmp_path) as board:
        link = board.connect()
        greet(link)
        board.close()
        with pytest.raises(LinkLostError, match="went away"):
            for _ in range(50):
                link.read(0.1)
        with pytest.raises(LinkLostError, match="went away"):
            link.write(b"\0")
        link.close()
        link.close()
    with pytest.raises(NoBoardError, match='no board "bay 3" is heard over radio; heard: none'):
        find("bay 3", 0.3)


def test_what_boards_say_of_themselves(tmp_path, air):
    with RadioBench(air, tmp_path) as board:
        board.set_battery(3_905, 1)
        wait_until(lambda: any(heard.battery_mv for heard in scan(0.3)))
        heard = scan(0.3)[0]
        assert (heard.name, heard.board_id) == ("bay 3", board.board_id)
        assert (heard.recording, heard.taken, heard.battery_mv) == (False, False, 3_900)
        assert heard.signal_dbm < 0
        link = board.connect()
        greet(link)
        board.press_button(1_000)
        wait_until(lambda: scan(0.3)[0].recording)
        with air.another_host():
            heard = scan(0.3)[0]
            assert heard.taken
            with pytest.raises(NoBoardError, match="serves another computer"):
                find("bay 3", 0.3)
        link.close()
        wait_until(lambda: not scan(0.3)[0].taken)


def test_two_boards_of_one_name_are_told_apart(tmp_path, air):
    with RadioBench(air, tmp_path) as one, RadioBench(air, tmp_path, secret=b"2" * 32) as two:
        wait_until(lambda: len(scan(0.3)) == 2)
        with pytest.raises(NoBoardError, match=f"by its id: .*{two.board_id}"):
            find("bay 3", 2.0)
        for board in (one, two):
            link = BleLink(find(board.board_id.upper(), 2.0), RadioGuard(board.keys))
            assert greet(link).board_id.hex() == board.board_id
            link.close()


def test_a_board_without_the_key_of_a_radio_is_silent(tmp_path, air):
    board = RadioBench(air, tmp_path)
    next(tmp_path.glob("flash*/radio.key")).unlink()
    with board:
        assert greet(board.cable()).name == "bay 3"
        assert scan(0.5) == []
