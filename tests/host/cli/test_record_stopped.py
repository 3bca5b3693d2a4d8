"""`rockhold record` at a terminal: what is asked when, and Ctrl-C at every kind of question."""

import os
import pty
import select
import signal
import subprocess
import termios
import time

import pytest

from rockhold.capture.reader import read_capture
from rockhold.capture.steps import attempts_of
from rockhold.cli import exits
from rockhold.simulator.unix_board import UnixBoard
from support import needs_micropython
from support_board import Rockhold
from support_guided import answers_for, broken_off, gone_on

pytestmark = needs_micropython


class Terminal:
    """A person's terminal with `rockhold record` on it."""

    def __init__(self, folder, *arguments):
        self._near, far = pty.openpty()
        command = Rockhold(folder / "home")
        command.env.pop("ROCKHOLD_PASSPHRASE")
        self._process = subprocess.Popen(
            [*command.command, "record", *map(str, arguments), "--technician", "A. Tester"],
            stdin=far, stdout=far, stderr=far, cwd=folder, env=command.env,
            start_new_session=True,
        )  # fmt: skip
        os.close(far)
        self.text = ""

    def read_until(self, words, limit_s=20.0):
        """Read on until the words are there; "" for all until the program ends."""
        end_s = time.monotonic() + limit_s
        while not words or words not in self.text:
            assert time.monotonic() < end_s, self.text
            if not select.select([self._near], [], [], 0.1)[0]:
                continue
            try:
                self.text += os.read(self._near, 1 << 16).decode()
            except OSError:  # the program has ended
                assert not words, self.text
                return

    def press(self, key, until, limit_s=20.0):
        """Press a key, again where nobody listened yet, until the words are there."""
        end_s = time.monotonic() + limit_s
        while until not in self.text and time.monotonic() < end_s:
            os.write(self._near, key)
            if select.select([self._near], [], [], 0.3)[0]:
                self.text += os.read(self._near, 1 << 16).decode()
        self.read_until(until, 1.0)

    def is_one_key_mode(self):
        """Say whether keys come one by one."""
        return not termios.tcgetattr(self._near)[3] & termios.ICANON

    def set_aside(self):
        """Do what Ctrl-Z does, and what a shell then does with the terminal."""
        self._process.send_signal(signal.SIGTSTP)
        _, status = os.waitpid(self._process.pid, os.WUNTRACED)
        assert os.WIFSTOPPED(status)
        return self.is_one_key_mode()

    def take_up(self):
        """Do what `fg` does."""
        self.text = ""
        self._process.send_signal(signal.SIGCONT)

    def stop(self, as_key=False):
        """Press Ctrl-C, and return exit code and all that was to be seen.

        Where a program waits for any key the terminal hands Ctrl-C on as one.
        """
        while as_key and self._process.poll() is None:  # it may not listen yet
            os.write(self._near, b"\x03")
            time.sleep(0.05)
        if not as_key:
            self._process.send_signal(signal.SIGINT)
        return self.end()

    def end(self):
        """Wait for the end; return exit code and all that was to be seen."""
        self.read_until("")
        os.close(self._near)
        assert "Traceback" not in self.text
        return self._process.wait(20), " ".join(self.text.split())


def test_no_passphrase_is_asked_for_a_board_that_is_not_there(tmp_path):
    code, text = Terminal(tmp_path, "a.capture", "--port", "none").end()
    assert code == exits.NO_BOARD
    assert "no port none" in text
    assert "assphrase" not in text
    assert "Before you rock" not in text


def test_a_folder_that_is_none_is_told_before_all_else(tmp_path):
    (tmp_path / "file").write_text("")
    code, text = Terminal(tmp_path, "file/a.capture", "--port", "none").end()
    assert code == exits.DISK
    assert "choose a file in a folder that you may write into" in text


def test_ctrl_c_at_each_question_before_the_recording(tmp_path):
    with UnixBoard() as board:
        job = ("a.capture", "--port", board.device, "--procedure", "end-play-and-spin")
        asked = Terminal(tmp_path, *job)
        asked.read_until("Passphrase for")
        assert "Before you rock" not in asked.text
        code, text = asked.stop()
        assert code == exits.INTERRUPTED
        assert "Stopped before anything was recorded; a.capture was not made" in text
        cautioned = Terminal(tmp_path, *job, "--no-seal")
        cautioned.read_until("press any key")
        code, text = cautioned.stop(as_key=True)
        assert code == exits.INTERRUPTED
        assert "a.capture was not made" in text
    assert not (tmp_path / "a.capture").exists()


def test_ctrl_z_gives_the_terminal_back_and_fg_takes_it_again(tmp_path):
    with UnixBoard() as board:
        job = ("a.capture", "--port", board.device, "--procedure", "hub-cap", "--no-seal")
        person = Terminal(tmp_path, *job)
        person.read_until("press any key")
        person.press(b"x", until="step 1 of 3")
        assert person.is_one_key_mode()
        assert not person.set_aside()
        person.take_up()
        person.read_until("step 1 of 3")  # drawn again: the shell has written over it
        assert person.is_one_key_mode()
        person.press(b"n", until="WHAT IS WRONG?")
        person.text = ""
        person.press(b"\r", until="IS IT SO?")
        person.press(b"q", until="To go on")
        code, text = person.end()
        assert code == exits.STEPS_OPEN
        assert (
            f"To go on: `rockhold record a.capture --resume --port {board.device} --no-seal`"
            in text
        )


@pytest.fixture
def rockhold(tmp_path):
    return Rockhold(tmp_path / "home")


def test_a_job_that_ctrl_c_broke_off_goes_on_with_all_its_steps(rockhold, tmp_path):
    path = tmp_path / "a.capture"
    first, *rest = answers_for("hub-cap", by_hand=True).splitlines()
    begun = [first, "cap-screws: pull"]
    with UnixBoard("bench board", tmp_path / "secret") as board:
        ended, words = broken_off(
            rockhold, board, path, "hub-cap", begun, b'"begun"', signal.SIGINT
        )
        assert ended.returncode == exits.INTERRUPTED
        assert f"--resume --port {board.device}` goes on with the job" in " ".join(words.split())
        gone_on(rockhold, board, path, rest)
    other = tmp_path / "a-2.capture"
    assert {a.step for a in attempts_of(read_capture(other))} == {"gasket", "cap-screws", "vent"}
    for one in (path, other):
        assert one.read_bytes().splitlines()[-1].startswith(b'{"seal":"')
