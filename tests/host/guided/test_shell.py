"""What a person at a terminal sees, and which keys count, when something happens by itself."""

import os
import pty
import re
import select
import tty

import pytest

from rockhold.guided import course as c
from rockhold.guided import keys as k
from rockhold.guided.keyboard import Keyboard
from rockhold.guided.means import Means
from rockhold.guided.run import JobRun
from rockhold.guided.shell import Shell
from rockhold.procedure.load import load_procedure
from rockwire import messages as m
from rockwire.units import POUND_FOOT, Scale


class Typed:
    """A keyboard that notes when it shall forget."""

    def __init__(self):
        self.pauses = []

    def poll(self, run):
        return False

    def hears_go(self):
        return not self.pauses

    def pause(self, seconds):
        self.pauses.append(seconds)


@pytest.fixture
def screen(monkeypatch):
    near, far = pty.openpty()
    for name, value in (("COLUMNS", "80"), ("LINES", "24"), ("TERM", "xterm")):
        monkeypatch.setenv(name, value)

    def seen():
        data = b""
        while select.select([near], [], [], 0.1)[0]:  # a terminal hands over piece by piece
            data += os.read(near, 1 << 16)
        return data.decode()

    with os.fdopen(far, "w", encoding="utf-8") as out:
        yield out, seen
    os.close(near)


def opened(out, procedure="hub-cap"):
    run = JobRun(load_procedure(procedure), Means("A. Tester"))
    keys = Typed()
    shell = Shell(run, keys, out)
    shell.linked("/dev/ttyACM0")
    shell.opened(lambda entry: None)
    return run, keys, shell


def pulls(count, peak=1400, every_us=4_000_000):
    """An adapter's readings, 20 a second: so many pulls to 14 lbf·ft."""
    for at in range(count * every_us // 50_000):
        in_pull = at * 50_000 % every_us / 1e6
        torque = round(peak * min(1.0, in_pull)) if in_pull < 1.5 else 0
        yield m.Readings(1, Scale(POUND_FOOT, 1, -2), (at * 50_000,), (torque,))


def test_a_lost_link_is_seen_at_once_and_keys_pressed_meanwhile_are_forgotten(screen):
    out, seen = screen
    _, keys, shell = opened(out)
    seen()
    shell.linked("")
    shell.say("The link is lost. Waiting 30 s for the board to come back …")
    assert "The link is lost" in seen()
    assert not keys.pauses
    shell.linked("/dev/ttyACM0")
    assert keys.pauses == [0.0]


def test_a_step_that_closes_by_itself_takes_the_next_space_bar_with_it(screen):
    out, seen = screen
    run, keys, shell = opened(out)
    run.press(k.GO)
    run.press(k.GO)
    for message in pulls(7):
        shell.stored(message)
    assert run.step.id != "cap-screws"
    assert len(keys.pauses) == 1
    index = run.index
    shell.stored(m.Event(m.BUTTON, 0, 29_000_000, 0))  # a hand that was on its way
    assert run.index == index
    assert "Hub-cap screws, crosswise: done." in seen()


def test_only_an_instrument_in_use_is_missed(screen):
    out, seen = screen
    run, _, shell = opened(out)
    shell.stored(m.Event(m.GAUGE_SILENT, 0, 1_000_000, 0))
    run.press(k.GO)
    run.press(k.GO)
    shell.stored(m.Event(m.GAUGE_SILENT, 1, 2_000_000, 0))
    text = seen()
    assert "indicator: silent" not in text
    assert "source 1: silent" in text


def test_no_space_bar_counts_in_a_pause(monkeypatch):
    near, far = pty.openpty()
    tty.setraw(far)
    run = JobRun(load_procedure("inspection"), Means("A. Tester"))
    with os.fdopen(far) as terminal:
        monkeypatch.setattr("sys.stdin", terminal)
        with Keyboard() as keys:
            os.write(near, b" ")
            keys.pause(60.0)  # forgets what was typed, too
            os.write(near, b" x")
            keys.poll(run)
            assert run.index == 0
            assert run.said.startswith("x means nothing here")
            keys.pause(0.0)
            os.write(near, b" ")
            keys.poll(run)
            assert run.index == 1
    os.close(near)


def test_arrows_and_f_keys_answer_nothing(monkeypatch):
    # ECMA-48, 5.4 and 5.5; xterm control sequences, "PC-Style Function Keys" (from memory).
    others = ["\x1b[A", "\x1b[B", "\x1bOQ", "\x1bOS", "\x1b[15~", "\x1b[3~", "\x1b[1;5D", "\x1bs"]
    near, far = pty.openpty()
    tty.setraw(far)
    run = JobRun(load_procedure("inspection"), Means("A. Tester"))
    run.press(k.GO)
    with os.fdopen(far) as terminal:
        monkeypatch.setattr("sys.stdin", terminal)
        with Keyboard() as keys:
            for other in others:
                os.write(near, other.encode())
                keys.poll(run)
                assert (run.index, run.phase, run.said) == (1, c.ASK, ""), repr(other)
            os.write(near, b"\x1b[A \x1bOQ")
            keys.poll(run)
            assert run.index == 2
    os.close(near)


def test_a_screen_follows_the_size_of_its_terminal(screen, monkeypatch):
    out, seen = screen
    _, _, shell = opened(out)
    seen()
    was_screen = True
    for columns, rows in ((120, 30), (60, 20), (45, 24), (100, 12), (200, 60), (30, 8)):
        monkeypatch.setenv("COLUMNS", str(columns))
        monkeypatch.setenv("LINES", str(rows))
        shell.stop()
        text = seen()
        is_screen = columns >= 60 and rows >= 20
        assert text.startswith("\x1b[2J") == (is_screen or was_screen)
        was_screen = is_screen
        assert "[SPACE] yes" in text
        assert text.count("\x1b[?25l") == is_screen
        lines = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", text).replace("\r", "").splitlines()
        assert max(map(len, lines)) < columns
        assert not is_screen or len(lines) < rows
        shell.stop()
        assert not seen()


def test_a_terminal_that_is_too_small_or_dumb_says_keys_and_what_is_typed(screen, monkeypatch):
    monkeypatch.setenv("TERM", "dumb")
    monkeypatch.setenv("COLUMNS", "40")
    out, seen = screen
    run, keys, shell = opened(out)
    text = seen()
    assert "[SPACE] yes" in text
    assert "[Q] stop for today" in text
    assert max(map(len, text.splitlines())) < 40
    run.said = "x means nothing here; the keys stand below"
    shell._settle(True)
    assert "x means nothing here" in seen()
    run.press(k.NO)
    keys.line = "torn"
    shell._settle(True)
    assert "Type the reason, then ENTER" in (text := seen())
    assert text.endswith("\r   > torn")
    keys.line = ""
    run.write("torn")
    shell._settle(True)
    assert "NOT AS IT SHOULD BE" in seen()


def test_a_job_that_was_stopped_asks_for_no_more_keys(screen):
    out, seen = screen
    run, _, shell = opened(out)
    seen()
    run.press(k.STOP)
    shell._settle(True)
    text = seen()
    assert "STOPPED FOR TODAY" in text
    assert "[SPACE]" not in text


def test_what_a_key_meant_stays_in_view_while_readings_come(screen):
    out, _ = screen
    run, _, shell = opened(out)
    run.press(k.GO)
    run.press(k.GO)
    run.said = "x means nothing here"
    for message in list(pulls(1))[:5]:
        shell.stored(message)
    assert run.said == "x means nothing here"
