"""`rockhold record` as a person meets it, with everything that goes wrong."""

import os
import resource
import signal
import subprocess
import time
import tty

import pytest

from rockhold.capture.reader import read_capture
from rockhold.cli import exits
from rockhold.simulator.unix_board import UnixBoard
from support import needs_micropython
from support_board import Rockhold, show_counts, wait_until
from support_trace import load_trace

pytestmark = needs_micropython


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


@pytest.fixture
def silent_port():
    """A terminal with nobody behind it."""
    near, far = os.openpty()
    tty.setraw(far)
    yield os.ttyname(far)
    os.close(near)
    os.close(far)


def start_recording(rockhold, board, path, *more):
    running = rockhold.start(
        "record", path, "--technician", "A. Tester", "--port", board.device, *more
    )
    wait_until(lambda: path.exists() and b'"record"' in path.read_bytes())
    return running


def end(running):
    out, err = running.communicate(timeout=30)
    assert "Traceback" not in err
    return running.returncode, out, err


def assert_readable_and_unsealed(path, counts):
    capture = read_capture(path)
    assert b'{"seal"' not in path.read_bytes()
    held = load_trace(path).count.tolist()
    assert held == counts[: len(held)]
    assert len(held) > 0
    return capture


def test_the_button_ends_measures_and_seals(rockhold, tmp_path):
    path = tmp_path / "a.capture"
    tools = tmp_path / "home" / "tools"
    tools.mkdir(parents=True)
    (tools / "D3.toml").write_text('kind = "indicator"\nmpe_mm = 0.02\ndue_on = 2021-02-28\n')
    with UnixBoard(secret_file=tmp_path / "secret") as board:
        running = start_recording(rockhold, board, path, "--tool", "D3")
        board.press_button(show_counts(board, [5] * 40))
        code, out, err = end(running)
    assert code == exits.NOT_MEASURABLE  # nobody rocked the wheel
    assert "Not measured" in out
    assert "never permission to drive" in err
    assert "indicator D3 is overdue: its calibration was due on 2021-02-28" in err
    assert "overdue" in out
    (tool,) = read_capture(path).header["tools"]
    assert tool == {"id": "D3", "kind": "indicator", "mpe_mm": 0.02, "due_on": "2021-02-28"}
    assert path.read_bytes().splitlines()[-1].startswith(b'{"seal":"')


def test_seconds_end_it_too(rockhold, tmp_path):
    path = tmp_path / "a.capture"
    with UnixBoard() as board:
        running = start_recording(rockhold, board, path, "--seconds", "1", "--no-seal")
        show_counts(board, [5] * 20)
        code, out, _ = end(running)
    assert code == exits.NOT_MEASURABLE
    assert "(unsealed)" in out
    assert_readable_and_unsealed(path, [5] * 20)


def test_no_board(rockhold, tmp_path, silent_port):
    for port, words in ((tmp_path / "none", "no port"), (silent_port, "nothing answers")):
        done = rockhold("record", tmp_path / "a.capture", "--technician", "A", "--port", port)
        assert done.returncode == exits.NO_BOARD
        assert words in done.stderr
        assert "Traceback" not in done.stderr
        assert not (tmp_path / "a.capture").exists()


def test_a_second_program_on_the_port(rockhold, tmp_path):
    with UnixBoard() as board:
        running = start_recording(rockhold, board, tmp_path / "a.capture")
        second = rockhold(
            "record", tmp_path / "b.capture", "--technician", "B", "--port", board.device
        )
        assert second.returncode == exits.NO_BOARD
        assert "in use by another program" in second.stderr
        board.press_button(show_counts(board, [7] * 20))
        assert end(running)[0] == exits.NOT_MEASURABLE
    assert load_trace(tmp_path / "a.capture").count.tolist() == [7] * 20


def test_unplugged_in_mid_capture(rockhold, tmp_path):
    path = tmp_path / "truck 1207.capture"
    with UnixBoard() as board:
        running = start_recording(rockhold, board, path, "--wait-s", "0.5")
        show_counts(board, range(40))
        wait_until(lambda: len(read_capture(path).records) > 4)
        board.close()
        code, _, err = end(running)
    assert code == exits.LINK_LOST
    assert "went away" in err
    assert f"To go on: `rockhold record '{path}' --resume --port {board.device}`" in err
    capture = assert_readable_and_unsealed(path, list(range(40)))
    assert capture.of_kind("note")[-1]["note"] == "link_lost"


def test_ctrl_c(rockhold, tmp_path):
    path = tmp_path / "a.capture"
    with UnixBoard() as board:
        running = start_recording(rockhold, board, path)
        show_counts(board, range(40))
        wait_until(lambda: len(read_capture(path).records) > 4)
        running.send_signal(signal.SIGINT)
        code, _, _ = end(running)
    assert code == exits.INTERRUPTED
    capture = assert_readable_and_unsealed(path, list(range(40)))
    assert "interrupted" in [note["note"] for note in capture.of_kind("note")]


def assert_disk_full(code, err, path):
    assert code == exits.DISK
    assert "make room" in err
    assert f"To go on: `rockhold record {path} --resume --port /dev" in err
    data = path.read_bytes()
    assert data.endswith(b"\n")  # the last whole line; the part of one that fitted is gone
    assert_readable_and_unsealed(path, list(range(100_000)))


def test_disk_full(rockhold, tmp_path):
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=8k", "tmpfs", str(disk)]
    if subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("a small disk of our own can be mounted only as root")
    try:
        with UnixBoard() as board:
            running = start_recording(rockhold, board, disk / "a.capture")
            show_counts(board, range(2_000), pace_s=0.0002)
            code, _, err = end(running)
        assert_disk_full(code, err, disk / "a.capture")
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_limit_on_file_size_is_a_full_disk_too(rockhold, tmp_path):
    path = tmp_path / "a.capture"
    limit = resource.getrlimit(resource.RLIMIT_FSIZE)
    with UnixBoard() as board:
        resource.setrlimit(resource.RLIMIT_FSIZE, (8_000, limit[1]))
        try:
            running = start_recording(rockhold, board, path)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, limit)
        show_counts(board, range(2_000), pace_s=0.0002)
        code, _, err = end(running)
    assert_disk_full(code, err, path)


def test_nothing_overwrites_a_capture(rockhold, tmp_path):
    path = tmp_path / "a.capture"
    path.write_text("precious")
    with UnixBoard() as board:
        done = rockhold("record", path, "--technician", "A", "--port", board.device)
    assert done.returncode == exits.DISK
    assert "never overwritten" in done.stderr
    assert path.read_text() == "precious"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--seconds", "-1"], "--seconds must be above zero"),
        (["--mpe-mm", "0"], "--mpe-mm must be above zero and below 1000"),
        (["--procedure", "none.toml"], "cannot read this procedure"),
        (["--mount", "roof"], "roof"),
    ],
)
def test_options_that_do_not_fit(rockhold, tmp_path, options, words):
    done = rockhold("record", tmp_path / "a.capture", "--technician", "A", *options)
    assert done.returncode == exits.USAGE
    assert words in done.stderr


def test_boards_says_what_answers_and_what_does_not(rockhold, silent_port):
    with UnixBoard("shop 3") as board:
        time.sleep(0.1)
        done = rockhold("boards", "--port", board.device, "--port", silent_port)
    assert done.returncode == exits.OK
    assert '"shop 3", ready' in done.stdout
    assert "nothing answers" in done.stdout
    assert rockhold("boards", "--port", silent_port).returncode == exits.NO_BOARD
