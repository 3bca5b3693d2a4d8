"""`rockhold board` against the real board program, with one fault at a time."""

import contextlib
import json
import os
import threading
import time
import tty

import pytest

from rockhold.cli.board import command as board_group
from rockhold.errors import NoBoardError
from rockhold.links.serial_port import SerialLink
from rockhold.simulator.gauge24 import edges_of, word_of
from rockhold.simulator.unix_board import UnixBoard
from rockhold.upkeep.check import check_board
from rockhold.upkeep.setup import free_console, refused_settings
from rockhold.upkeep.upkeep import Upkeep
from support import needs_micropython
from support_board import Rockhold, wait_until

pytestmark = needs_micropython

ALL = {
    "name": "bay 3",
    "sources": [
        {"kind": "clocked24", "name": "indicator"},
        {"kind": "ascii_line", "name": "torque", "unit": "Nm"},
        {"kind": "motion", "name": "hub"},
    ],
}


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


@pytest.fixture
def flash(tmp_path):
    folder = tmp_path / "flash"
    folder.mkdir()
    return folder


def board_with(flash, settings=None):
    if settings is not None:
        text = settings if isinstance(settings, str) else json.dumps(settings)
        (flash / "settings.json").write_text(text)
    return UnixBoard("", flash / "secret", flash)


class Bench(threading.Thread):
    """Everything that a healthy board hears, in real time; faults leave something out."""

    def __init__(self, board, *faults):
        super().__init__(daemon=True)
        self._board = board
        self._faults = faults
        self._ended = threading.Event()

    def run(self):
        board, faults, begin_s = self._board, self._faults, time.monotonic()
        fast = 1.2 if "clock" in faults else 1.0
        step = 0
        while not self._ended.is_set():
            now_us = int((time.monotonic() - begin_s) * 1e6 * fast) + 100_000
            if step % 7 == 0 and "gauge" not in faults:
                edges = list(edges_of(now_us, word_of(123, True)))
                if "cable" in faults:
                    edges = edges[:30] + edges[32:]
                board.send_edges(edges)
            if step % 10 == 5 and "torque" not in faults:
                line = b"?!7\r\n" if "baud" in faults else b"12.50 Nm\r\n"
                board.send_text(line, now_us)
            if "motion" not in faults:
                board.send_motion(131, 0, now_us)
            if step % 20 == 0:
                board.set_battery(3_100 if "battery" in faults else 3_900, now_us)
            board.pass_time(int((time.monotonic() - begin_s) * 1e6 * fast) + 100_000)
            step += 1
            time.sleep(0.01)

    def __enter__(self):
        self.start()
        time.sleep(0.8)
        return self

    def __exit__(self, *error):
        self._ended.set()
        self.join()


def rows_of(done):
    return {row["what"]: row for row in map(json.loads, done.stdout.splitlines())}


def look_over(board, *faults):
    """Check a board from this process, as the command does."""
    with Bench(board, *faults), contextlib.closing(SerialLink(board.device)) as link:
        return {finding.what: finding for finding in check_board(Upkeep(link), 1.0)}


# The simulated board's clock moves in steps of some 10 ms, so a drift below 2 % is not seen here.
HEALTHY = ("memory", "settings", "flash", "battery", "indicator (clocked24)",
           "torque (ascii_line)", "hub turning (motion)", "hub knock (motion)")  # fmt: skip


def test_a_healthy_board_has_nothing_to_look_at_but_that_nobody_trusts_it_yet(rockhold, flash):
    with board_with(flash, ALL) as board, Bench(board):
        done = rockhold("board", "check", "--port", board.device, "--seconds", "1", "--json")
    rows = rows_of(done)
    assert [rows[what]["state"] for what in HEALTHY] == ["ok"] * len(HEALTHY), done.stdout
    assert rows["board"]["seen"].startswith('"bay 3", ')
    assert rows["key"]["state"] == "fault"
    assert done.returncode == 14
    assert "12.50 N·m" in rows["torque (ascii_line)"]["seen"]
    assert "0.0615 in" in rows["indicator (clocked24)"]["seen"]


@pytest.mark.parametrize(
    ("fault", "what", "seen", "look"),
    [
        ("gauge", "indicator (clocked24)", "not heard", "Is the gauge switched on"),
        ("cable", "indicator (clocked24)", "damaged", "a loose plug"),
        ("torque", "torque (ascii_line)", "not heard", "TX on the board's RX"),
        ("baud", "torque (ascii_line)", "damaged", "`pattern`"),
        ("motion", "hub turning (motion)", "not heard", "SDA and SCL"),
        ("battery", "battery", "3.10 V", "Charge it"),
        ("clock", "clock", "ppm", "crystal"),
    ],
)
def test_one_fault_is_named_and_says_where_to_look(flash, fault, what, seen, look):
    with board_with(flash, ALL) as board:
        found = look_over(board, fault)
    assert found[what].state == "fault"
    assert seen in found[what].seen
    assert look in found[what].look
    others = {row.what for row in found.values() if row.state == "fault"} - {what, "clock"}
    assert others <= ({"hub knock (motion)"} if fault == "motion" else set())


def test_settings_that_cannot_be_used_are_named_and_the_board_lives(rockhold, flash):
    with board_with(flash, '{"sources": [{"kind": "clocked25"}]}') as board:
        done = rockhold("board", "check", "--port", board.device, "--seconds", "0.2", "--json")
        rows = rows_of(done)
        assert "sources[0].kind: must be one of clocked24" in rows["settings"]["seen"]
        assert "indicator (clocked24)" in rows  # it runs on its defaults
        # A set-up ends with the same words.
        assert "sources[0].kind" in refused_settings(board.device, 5.0)
        path = flash.parent / "new.json"
        path.write_text('{"name": 7}')
        done = rockhold("board", "settings", "--port", board.device, path)
        assert done.returncode == 2
        assert "name: must be a text of 1 to 24 bytes, is 7" in done.stderr
        path.write_text(json.dumps(ALL))
        done = rockhold("board", "settings", "--port", board.device, path)
        assert done.returncode == 0, done.stderr
        assert "from the next start" in done.stdout
    with board_with(flash) as board:
        assert refused_settings(board.device, 5.0) == ""
        done = rockhold("board", "settings", "--port", board.device)
        assert json.loads(done.stdout) == ALL


def test_fetch_brings_what_was_recorded_alone_measured_and_sealed(rockhold, flash, tmp_path):
    with board_with(flash, {"name": "bay 3"}) as board:
        board.pass_time(50_000)
        board.press_button(60_000)
        time.sleep(0.3)
        for index in range(40):
            board.send_edges(list(edges_of(100_000 + index * 70_000, word_of(index, True))))
        board.pass_time(2_950_000)
        time.sleep(0.3)
        board.press_button(3_000_000)
        wait_until(lambda: stands_still(flash / "spool"))
        done = rockhold("board", "fetch", "--port", board.device, "--folder", tmp_path / "out",
                        "--technician", "A. Tester")  # fmt: skip
        assert done.returncode == 0, done.stderr
        again = rockhold("board", "fetch", "--port", board.device, "--folder", tmp_path / "out")
        assert "Nothing to fetch." in again.stdout
    (path,) = (tmp_path / "out").glob("*.capture")
    assert str(path) in done.stdout
    verified = rockhold("verify", path)
    assert "A. Tester" in verified.stdout


def test_the_console_is_given_back_when_asked_and_not_in_mid_capture(rockhold, flash):
    with board_with(flash) as board:
        board.press_button(1_000)
        time.sleep(0.3)
        with pytest.raises(NoBoardError, match="End the recording first"):
            free_console(board.device)
        board.press_button(2_000)
        time.sleep(0.3)
        free_console(board.device)
        assert board.wait_for_console() == 0


@pytest.fixture
def instrument():
    """A port at which something sends lines that are none of a board's."""
    near, far = os.openpty()
    tty.setraw(far)
    ended = threading.Event()

    def speak():
        while not ended.wait(0.05):
            os.write(near, b"temperature 21.4\r\n")

    thread = threading.Thread(target=speak)
    thread.start()
    yield os.ttyname(far)
    ended.set()
    thread.join()
    os.close(near)
    os.close(far)


def test_another_instrument_is_not_taken_for_a_board_without_power(rockhold, instrument):
    done = rockhold("board", "settings", "--port", instrument)
    assert done.returncode == 6
    assert "is no rockhold board: another instrument" in done.stderr
    assert "rockhold board setup" in done.stderr


def test_a_settings_file_that_is_no_text_or_no_json_is_told_with_its_place(rockhold, tmp_path):
    path = tmp_path / "bay3.json"
    for data, says in ((b'{"name":\n x}', "line 2, column 2"), (b"\xff\xfe", "no UTF-8 text")):
        path.write_bytes(data)
        for words in (("settings", path), ("setup", "--settings", path)):
            done = rockhold("board", *words, "--port", "/dev/null")
            assert done.returncode == 2
            assert f"{path} is no" in done.stderr
            assert says in done.stderr


def test_a_board_that_keeps_nothing_says_so(rockhold, flash):
    with board_with(flash) as board:
        done = rockhold("board", "fetch", "--list", "--port", board.device)
    assert (done.returncode, done.stdout) == (0, "The board keeps no capture.\n")


def test_help_has_an_example_for_each():
    for name, verb in board_group.commands.items():
        assert f"Example: rockhold board {name}" in verb.help


def stands_still(folder):
    """Whether nothing in a folder has changed for a second."""
    return all(time.time() - path.stat().st_mtime > 1.0 for path in folder.iterdir())
