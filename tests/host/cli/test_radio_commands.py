"""`rockhold boards --radio` and `rockhold record --radio`, in this process so that bleak finds the
stacks that are software."""

import json
import sys
import threading

import pytest

from radio_air import Air
from radio_bench import RadioBench
from rockhold import cli
from rockhold.capture.reader import read_capture
from rockhold.cli import exits, port
from rockhold.links.radio_scan import scan
from rockhold.links.serial_port import PortInfo, find_ports
from support import needs_micropython
from support_board import Rockhold, show_counts, wait_until
from support_trace import load_trace

pytestmark = needs_micropython


@pytest.fixture
def air():
    with Air() as air:
        yield air


@pytest.fixture
def rockhold(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("ROCKHOLD_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("ROCKHOLD_PASSPHRASE", "")

    def run(*words):
        monkeypatch.setattr(sys, "argv", ["rockhold", *map(str, words)])
        with pytest.raises(SystemExit) as stop:
            cli.main()
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return stop.value.code, out, err

    return run


def while_recording(path, work):
    """Do some work once a capture has its first record."""

    def wait_and_work():
        wait_until(lambda: path.exists() and b'"record"' in path.read_bytes())
        work()

    worker = threading.Thread(target=wait_and_work, daemon=True)
    worker.start()
    return worker


def test_recorded_over_radio_cut_and_gone_on_over_the_cable_sealed_and_verified(
    rockhold, tmp_path, air
):
    path = tmp_path / "left.capture"
    with RadioBench(air, tmp_path) as board:
        t_us = []

        def cut():
            t_us.append(show_counts(board, range(150), pace_s=0.002))
            air.run(air.stack.go())
            t_us.append(show_counts(board, range(150, 300), t_us[0], pace_s=0.001))

        worker = while_recording(path, cut)
        code, _, err = rockhold(
            *("record", path, "--radio", "bay 3", "--technician", "A. Miller", "--wait-s", "1")
        )
        assert code == exits.LINK_LOST
        assert "The link is lost" in err
        worker.join()
        board.press_button(t_us[-1])
        code, out, _ = rockhold(
            *("record", path, "--resume", "--port", board.device, "--technician", "A. Miller")
        )
    assert code == exits.NOT_MEASURABLE  # nobody rocked the wheel
    assert load_trace(path).count.tolist() == list(range(300))
    rockhold(
        "keys", "trust", offered_board_key(path), "--name", "bay 3", "--role", "board", "--yes"
    )
    code, out, err = rockhold("verify", path)
    assert code == exits.OK, out + err


def offered_board_key(path):
    return read_capture(path).header["board"]["public_key"]


def test_plugged_in_while_recording_it_goes_on_over_the_cable_by_itself(
    rockhold, tmp_path, air, monkeypatch
):
    path = tmp_path / "left.capture"
    with RadioBench(air, tmp_path) as board:
        plugged = []
        monkeypatch.setattr(
            port, "find_ports", lambda: [*find_ports(), *(PortInfo(p, "") for p in plugged)]
        )

        def cut():
            t_us = show_counts(board, range(100), pace_s=0.002)
            air.run(air.stack.go())
            plugged.append(board.device)
            board.press_button(show_counts(board, range(100, 200), t_us, pace_s=0.001))

        while_recording(path, cut)
        code, _, err = rockhold(
            *("record", path, "--radio", board.board_id, "--technician", "A", "--no-seal"),
            *("--wait-s", "80"),  # a busy machine looks for the radio slowly
        )
    assert code == exits.NOT_MEASURABLE, err
    assert f"The board is back on {board.device}" in err
    assert load_trace(path).count.tolist() == list(range(200))


def test_boards_over_radio_are_listed_with_state_battery_and_signal(rockhold, tmp_path, air):
    with RadioBench(air, tmp_path) as board:
        board.set_battery(3_900, 1)
        wait_until(lambda: any(heard.battery_mv for heard in scan(0.3)))
        code, out, _ = rockhold("boards", "--radio", "--seconds", "0.5", "--json")
        assert code == exits.OK
        (row,) = [json.loads(line) for line in out.splitlines() if "radio" in json.loads(line)]
        assert row["name"] == "bay 3"
        assert (row["state"], row["battery_mv"], row["board"]) == ("ready", 3900, board.board_id)
        assert row["signal_dbm"] < 0
        code, out, _ = rockhold("boards", "--radio", "--seconds", "0.5")
        assert '"bay 3", ready, battery 3.90 V, signal -' in out


def test_a_name_that_nobody_answers_to(rockhold, tmp_path, air, monkeypatch):
    monkeypatch.setattr(port, "_LISTEN_S", 0.5)
    code, _, err = rockhold(
        *("record", tmp_path / "a.capture", "--radio", "bay 4", "--technician", "A", "--no-seal")
    )
    assert code == exits.NO_BOARD
    assert 'no board "bay 4" is heard over radio' in err
    assert not (tmp_path / "a.capture").exists()


def test_without_bleak_the_radio_says_so_and_the_rest_works(rockhold, monkeypatch):
    monkeypatch.setitem(sys.modules, "bleak", None)
    code, _, err = rockhold("boards", "--radio", "--seconds", "0.5")
    assert code == exits.NO_BOARD
    assert "pip install bleak" in err
    assert rockhold("boards")[0] in (exits.OK, exits.NO_BOARD)


def test_this_computers_own_radio_is_used_or_missed_without_a_traceback(tmp_path):
    done = Rockhold(tmp_path / "home")("boards", "--radio", "--seconds", "0.5")
    assert done.returncode in (exits.OK, exits.NO_BOARD)
    assert "Traceback" not in done.stderr
    assert "fault of rockhold" not in done.stderr


def test_bleak_is_not_loaded_before_a_radio_is_asked_for(rockhold, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "bleak", None)
    assert rockhold("record", "--help")[0] == exits.OK
    assert rockhold("boards", "--help")[0] == exits.OK
